"""What is measured: each instrument's key, range, direction and thresholds.

The numbers stand in `instruments/*.toml`, each with its source. This module
gives them types; `thresholds.py` holds sizes of change, and
`instrument_checks.py` refuses a file that contradicts itself.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar

from clinic.sourced.sources import MARKS, Source, read_source
from clinic.sourced.strict_toml import Table, read_file

from .instrument_checks import check_measure
from .measurement_error import reaches
from .thresholds import Kind, Threshold, read_threshold

PRIMARY_KEYS = ("akps", "koos_pf", "lefs", "psfs")
QUESTIONNAIRES = (*PRIMARY_KEYS, "groc")
PAIN_KINDS = ("worst", "usual", "stairs", "squatting", "sitting", "running")

Numbers = TypeVar("Numbers")


class Direction(StrEnum):
    """Which way a score improves; the only place that knows it."""

    HIGHER = "higher"
    LOWER = "lower"

    @property
    def sign(self) -> int:
        return 1 if self is Direction.HIGHER else -1

    @property
    def sentence(self) -> str:
        return f"{self.value} is better"

    def gain(self, baseline: Numbers, current: Numbers) -> Numbers:
        """Change in scale points, positive means better; floats or arrays."""
        return (current - baseline) * self.sign  # type: ignore[operator]


class Belongs(StrEnum):
    """Whether a score is about one knee or about the whole person."""

    KNEE = "knee"
    PERSON = "person"


@dataclass(frozen=True, slots=True)
class Option:
    """One answer: its stored code, its points, and a short label of our own."""

    code: str | int
    points: float
    label: str


@dataclass(frozen=True, slots=True)
class Item:
    """One question: its number and a short label of our own."""

    key: str
    label: str
    options: tuple[Option, ...]

    @property
    def most_points(self) -> float:
        return max(option.points for option in self.options)


@dataclass(frozen=True, slots=True)
class Missing:
    """How many answers a score needs, and who says so."""

    at_least: int
    note: str
    source: Source


@dataclass(frozen=True, slots=True)
class Measure:
    """One instrument. Ages are in years; `step` is in scale points."""

    key: str
    edition: int
    edition_note: str
    name: str
    short_name: str
    kind: str
    low: float
    high: float
    better: Direction | None  # None: the rating is itself a change
    step: float
    belongs: Belongs
    items: tuple[Item, ...]
    has_own_items: bool  # the patient names the items, which are numbered
    missing: Missing
    estimate_missing: int  # most items missing for a marked estimate; 0: never
    method: str
    recall: str
    recall_mark: str  # how far the period was checked; empty: read in the source
    licence: str
    licence_mark: str
    citation: Source
    ages: tuple[int | None, int | None]
    ages_note: str
    thresholds: tuple[Threshold, ...]
    goal: float | None
    goal_note: str
    percent_steady_from: float | None  # below it, per cent change is unsteady

    @property
    def main_threshold(self) -> str:
        """What the score's thresholds apply to: "total", or "average" for PSFS."""
        kinds = {threshold.applies_to for threshold in self.thresholds}
        return "total" if "total" in kinds else "average"

    @property
    def best_possible(self) -> float:
        return self.low if self.better is Direction.LOWER else self.high

    def item(self, key: str) -> Item | None:
        """The item with this key; named activities may be numbered 1 to 99."""
        for item in self.items:
            if item.key == key:
                return item
        is_number = key.isascii() and key.isdigit() and 1 <= len(key) <= 2
        if self.has_own_items and is_number and not key.startswith("0"):
            return Item(key, f"Activity {key}", self.items[0].options)
        return None

    def threshold(self, kind: Kind, applies_to: str | None = None) -> Threshold | None:
        """The default threshold of a kind, by default the one for the score."""
        wanted = applies_to or self.main_threshold
        for threshold in self.thresholds:
            is_wanted = threshold.kind is kind and threshold.applies_to == wanted
            if is_wanted and threshold.default:
                return threshold
        return None

    def alternatives(self, kind: Kind) -> tuple[Threshold, ...]:
        """The other published values of a kind that a clinic may choose."""
        return tuple(
            threshold
            for threshold in self.thresholds
            if threshold.kind is kind and threshold.is_offered and not threshold.default
        )

    def sem(self, applies_to: str | None = None) -> float | None:
        """Standard error of measurement behind the default MDC, scale points."""
        threshold = self.threshold(Kind.MDC, applies_to)
        return threshold.sem if threshold else None

    def has_room(self, baseline: Any, amount: Any) -> Any:
        """Whether a gain of `amount` points can still occur; floats or arrays alike."""
        if self.better is None:
            return True
        return reaches(self.better.gain(baseline, self.best_possible), amount)


@cache
def catalogue() -> Mapping[str, Measure]:
    """Every measure by key, read once; DataFileError names file and key."""
    return load_catalogue(Path(__file__).parent / "instruments")


def measure(key: str) -> Measure:
    """The measure with this key; KeyError lists the known keys."""
    try:
        return catalogue()[key]
    except KeyError:
        known = ", ".join(catalogue())
        raise KeyError(f"No measure {key!r}; the measures are {known}.") from None


def load_catalogue(folder: Path) -> Mapping[str, Measure]:
    """Read a folder of instrument files, one a questionnaire and one for pain."""
    found: dict[str, Measure] = {}
    for name in QUESTIONNAIRES:
        table = read_file(folder / f"{name}.toml")
        found[name] = _measure(table, expected=name)
    pain = read_file(folder / "pain.toml")
    for table in _pain_tables(pain):
        one = _measure(table, expected=table.text("key"))
        found[one.key] = one
    return MappingProxyType(found)


def _pain_tables(shared: Table) -> list[Table]:
    """Expand the pain file: one table a kind, its own keys over the shared ones."""
    kinds = {own.choice("kind", PAIN_KINDS): own for own in shared.tables("ratings")}
    if tuple(kinds) != PAIN_KINDS:
        raise shared.fail("ratings", f"must be {', '.join(PAIN_KINDS)}, in order")
    common = {key: value for key, value in shared.values.items() if key != "ratings"}
    tables = []
    for kind, own in kinds.items():
        mine = {key: value for key, value in own.values.items() if key != "kind"}
        every = shared.sequence("thresholds")
        rows = [row for row in every if kind in row.get("ratings", PAIN_KINDS)]
        fixed = {"key": f"pain_{kind}", "kind": "pain", "thresholds": rows}
        tables.append(Table(common | mine | fixed, shared.file, own.path))
    return tables


def _measure(table: Table, *, expected: str) -> Measure:
    key = table.choice("key", (expected,))
    built = Measure(key=key, **_description(table), **_scale(table))
    table.finish()
    for where, problem in check_measure(built):
        raise table.fail(where, problem)
    return built


def _description(table: Table) -> dict[str, Any]:
    """What the instrument is, whose it is, and for whom it was measured."""
    ages = table.table("ages")
    years = ages.optional_whole("youngest"), ages.optional_whole("oldest")
    described = {
        "edition": table.whole("edition"),
        "edition_note": table.text("edition_note", ""),
        "name": table.text("name"),
        "short_name": table.text("short_name"),
        "kind": table.choice("kind", ("questionnaire", "pain", "rating")),
        "belongs": Belongs(table.choice("belongs", tuple(Belongs))),
        "recall": table.text("recall"),
        "recall_mark": _recall_mark(table),
        "licence": table.text("licence"),
        "licence_mark": table.choice("licence_mark", MARKS),
        "citation": read_source(table.table("source")),
        "ages": years,
        "ages_note": ages.text("note"),
    }
    ages.finish()
    return described


def _recall_mark(table: Table) -> str:
    return table.choice("recall_mark", MARKS) if table.has("recall_mark") else ""


def _scale(table: Table) -> dict[str, Any]:
    """How it is scored, and what a score and a change are held to."""
    return {
        "low": table.number("low"),
        "high": table.number("high"),
        "better": _direction(table),
        "step": table.number("step"),
        "items": _items(table),
        "has_own_items": table.flag("has_own_items", default=False),
        "missing": _missing(table.table("missing")),
        "estimate_missing": table.whole("estimate_missing", 0),
        "method": table.choice("method", ("sum", "scaled_mean", "mean", "single")),
        "thresholds": tuple(map(read_threshold, table.tables("thresholds"))),
        "goal": table.optional_number("goal"),
        "goal_note": table.text("goal_note", ""),
        "percent_steady_from": table.optional_number("percent_steady_from"),
    }


def _direction(table: Table) -> Direction | None:
    """The direction; "none" for a rating that is itself a change."""
    word = table.choice("better", (*Direction, "none"))
    return None if word == "none" else Direction(word)


def _missing(table: Table) -> Missing:
    missing = Missing(
        at_least=table.whole("at_least"),
        note=table.text("note"),
        source=read_source(table.table("source")),
    )
    table.finish()
    return missing


def _items(table: Table) -> tuple[Item, ...]:
    """Read the items; those without options of their own share the table's."""
    shared = _options(table) if table.has("options") else ()
    items = []
    for row in table.tables("items"):
        options = _options(row) if row.has("options") else shared
        items.append(Item(row.text("key"), row.text("label"), options))
        row.finish()
    return tuple(items)


def _options(table: Table) -> tuple[Option, ...]:
    """Read [code, points, label] rows, the order being the order on screen."""
    rows = table.rows("options", int | str, int | float, str)
    return tuple(Option(code, points, label) for code, points, label in rows)
