"""Reads the files of the physical tests strictly, as `instrument_file.py` does."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from .instrument_file import Table, read_instrument
from .measures import Belongs, Direction
from .physical_tests import LeverArm, PhysicalTest, Takes, TrialRule, Trials
from .thresholds import MARKS, Source, Threshold, read_threshold

TEST_KEYS = (
    "hip_abductor",
    "knee_extensor",
    "step_down",
    "single_leg_squat",
    "single_leg_hop",
    "running_volume",
)
QUANTITIES = ("force", "count", "rating", "distance")
TEST_MARKS = (*MARKS, "common practice, no source")
# A size of change is shown only if someone published it.
PUBLISHED_MARKS = ("confirmed", "confirmed, secondary source", "derived")
FOLDER = Path(__file__).parent / "physical"


@cache
def physical_tests() -> Mapping[str, PhysicalTest]:
    """Every test by key, read once; CatalogueError names file and key."""
    return load_tests(FOLDER)


def load_tests(folder: Path) -> Mapping[str, PhysicalTest]:
    """Read a folder of test files, one a test."""
    found = {}
    for key in TEST_KEYS:
        found[key] = _test(read_instrument(folder / f"{key}.toml"), expected=key)
    return MappingProxyType(found)


def _test(table: Table, *, expected: str) -> PhysicalTest:
    key = table.choice("key", (expected,))
    built = PhysicalTest(key=key, **_description(table), **_result(table))
    table.finish()
    if not built.low < built.high:
        raise table.fail("low", "must be below high")
    if (built.quantity == "force") is not (built.lever_arm is not None):
        raise table.fail("lever_arm", "belongs to a force, and every force has one")
    if built.has_symmetry and built.takes is Takes.PERSON:
        raise table.fail("has_symmetry", "needs both sides")
    if (built.takes is Takes.PERSON) is not (built.belongs is Belongs.PERSON):
        raise table.fail("takes", "contradicts belongs")
    return built


def _description(table: Table) -> dict[str, Any]:
    """What the test is, how it is done, and what to beware of."""
    return {
        "edition": table.whole("edition"),
        "name": table.text("name"),
        "short_name": table.text("short_name"),
        "quantity": table.choice("quantity", QUANTITIES),
        "belongs": Belongs(table.choice("belongs", tuple(Belongs))),
        "takes": Takes(table.choice("takes", tuple(Takes))),
        "how": table.text("how"),
        "notes": _sentences(table, "notes"),
        "cautions": _sentences(table, "cautions"),
        "source": _source(table.table("source")),
    }


def _result(table: Table) -> dict[str, Any]:
    """Unit, range and direction, how trials count, and published sizes."""
    return {
        "unit": table.text("unit"),
        "low": table.number("low"),
        "high": table.number("high"),
        "guard_note": table.text("guard_note"),
        "better": Direction(table.choice("better", tuple(Direction))),
        "is_maximum": table.flag("is_maximum", default=False),
        "has_symmetry": table.flag("has_symmetry", default=False),
        "trials": _trials(table.table("trials")),
        "lever_arm": _lever_arm(table),
        "thresholds": tuple(map(_threshold, table.tables("thresholds"))),
        "thresholds_note": table.text("thresholds_note"),
    }


def _trials(table: Table) -> Trials:
    trials = Trials(
        planned=table.whole("planned"),
        rule=TrialRule(table.choice("rule", tuple(TrialRule))),
        note=table.text("note"),
        source=_source(table.table("source")),
    )
    if trials.planned < 1:
        raise table.fail("planned", "must be 1 or more")
    table.finish()
    return trials


def _lever_arm(table: Table) -> LeverArm | None:
    if not table.has("lever_arm"):
        return None
    inner = table.table("lever_arm")
    arm = LeverArm(inner.number("low"), inner.number("high"), inner.text("from_to"))
    if not 0 < arm.low < arm.high:
        raise inner.fail("low", "must be above 0 and below high")
    inner.finish()
    return arm


def _threshold(table: Table) -> Threshold:
    threshold = read_threshold(table)
    if threshold.source.mark not in PUBLISHED_MARKS:
        raise table.fail("source.mark", "must be that of a published size")
    return threshold


def _source(table: Table) -> Source:
    source = Source(
        citation=table.text("citation"),
        doi=table.optional_text("doi"),
        mark=table.choice("mark", TEST_MARKS),
        short=table.text("short", ""),
    )
    table.finish()
    return source


def _sentences(table: Table, key: str) -> tuple[str, ...]:
    """Read a list of sentences, at least one."""
    found = table.sequence(key)
    if not found or not all(isinstance(text, str) and text for text in found):
        raise table.fail(key, "must be a list of sentences")
    return tuple(found)
