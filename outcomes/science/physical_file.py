"""Reads the files of the physical tests strictly, one a test."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from clinic.sourced.sources import PUBLISHED_MARKS, read_source
from clinic.sourced.strict_toml import Table, read_file

from .measures import Belongs, Direction
from .physical_tests import LeverArm, PhysicalTest, Takes, TrialRule, Trials
from .thresholds import Threshold, read_threshold

TEST_KEYS = (
    "hip_abductor",
    "knee_extensor",
    "step_down",
    "single_leg_squat",
    "single_leg_hop",
    "running_volume",
)
QUANTITIES = ("force", "count", "rating", "distance")
FOLDER = Path(__file__).parent / "physical"


@cache
def physical_tests() -> Mapping[str, PhysicalTest]:
    """Every test by key, read once; DataFileError names file and key."""
    return load_tests(FOLDER)


def load_tests(folder: Path) -> Mapping[str, PhysicalTest]:
    """Read a folder of test files, one a test."""
    found = {}
    for key in TEST_KEYS:
        found[key] = _test(read_file(folder / f"{key}.toml"), expected=key)
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
        "source": read_source(table.table("source")),
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
        source=read_source(table.table("source")),
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
    """Read a size of change; it is shown only if someone published it."""
    threshold = read_threshold(table)
    if threshold.source.mark not in PUBLISHED_MARKS:
        raise table.fail("source.mark", "must be that of a published size")
    return threshold


def _sentences(table: Table, key: str) -> tuple[str, ...]:
    """Read a list of sentences, at least one."""
    found = table.texts(key)
    if not found:
        raise table.fail(key, "must be a list of sentences")
    return found
