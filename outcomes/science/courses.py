"""The course of many cases as arrays, and of one case as plain values.

Rows are cases, columns are time, padded with nan; days are proleptic ordinals
(`date.toordinal()`) held as floats.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from datetime import date
from typing import Any, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

NAN = float("nan")

Part = TypeVar("Part")


@dataclass(frozen=True, slots=True)
class Attended:
    """One attended visit: pain during exercise 0-10, and a flare next morning."""

    on: date
    pain_during: float | None = None
    is_flare: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseCourse:
    """One case in plain values; a look is a complete primary assessment."""

    opened_on: date
    mcid: float
    mdc: float
    sem: float
    best_possible: float
    sign: int = 1
    goal: float | None = None
    looks: Sequence[tuple[date, float]] = ()
    worst_pain: Sequence[tuple[date, float]] = ()
    attended: Sequence[Attended] = ()
    global_ratings: Sequence[tuple[date, float]] = ()
    planned_on: date | None = None
    red_flag_on: date | None = None
    due_weeks: Sequence[float] = (0, 3, 6, 9, 12)
    then_every_weeks: float | None = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Courses:
    """Many cases at once, one row per case.

    `sign` is +1 where a higher score is better and -1 where a lower one is;
    `best_possible` is the score at the good end; `goal` is nan where there is
    none; `flare` is 1, 0 or nan; `planned_day` is the latest planned visit;
    `red_flag_day` is the day of a positive answer without a decision.
    """

    opened: Floats
    sign: Floats
    mcid: Floats
    mdc: Floats
    sem: Floats
    goal: Floats
    best_possible: Floats
    look_day: Floats
    look_score: Floats
    pain_day: Floats
    pain_worst: Floats
    attended_day: Floats
    pain_during: Floats
    flare: Floats
    groc_day: Floats
    groc_value: Floats
    planned_day: Floats
    red_flag_day: Floats
    due_weeks: Floats
    then_every: Floats

    def __post_init__(self) -> None:
        """Refuse arrays whose rows do not belong together."""
        rows = {name: len(getattr(self, name)) for name in _names()}
        if len(set(rows.values())) > 1:
            raise ValueError(f"every array needs one row per case, got {rows}")

    def __len__(self) -> int:
        """Return the number of cases."""
        return len(self.opened)

    @classmethod
    def from_cases(cls, cases: Sequence[CaseCourse]) -> Courses:
        """Return the arrays of cases given as plain values."""
        return cls(**_per_case(cases), **_over_time(cases))


def _per_case(cases: Sequence[CaseCourse]) -> dict[str, Floats]:
    """Return the arrays that hold one number per case."""
    return {
        "opened": _row(case.opened_on for case in cases),
        "sign": _row(case.sign for case in cases),
        "mcid": _row(case.mcid for case in cases),
        "mdc": _row(case.mdc for case in cases),
        "sem": _row(case.sem for case in cases),
        "goal": _row(case.goal for case in cases),
        "best_possible": _row(case.best_possible for case in cases),
        "planned_day": _row(case.planned_on for case in cases),
        "red_flag_day": _row(case.red_flag_on for case in cases),
        "then_every": _row(case.then_every_weeks for case in cases),
    }


def _over_time(cases: Sequence[CaseCourse]) -> dict[str, Floats]:
    """Return the arrays that hold dated entries of each case."""
    visits = [[(v.on, v.pain_during, v.is_flare) for v in c.attended] for c in cases]
    due = [[(week,) for week in case.due_weeks] for case in cases]
    looks = _columns([case.looks for case in cases], width=2)
    pain = _columns([case.worst_pain for case in cases], width=2)
    attended = _columns(visits, width=3)
    ratings = _columns([case.global_ratings for case in cases], width=2)
    return {
        "look_day": looks[0],
        "look_score": looks[1],
        "pain_day": pain[0],
        "pain_worst": pain[1],
        "attended_day": attended[0],
        "pain_during": attended[1],
        "flare": attended[2],
        "groc_day": ratings[0],
        "groc_value": ratings[1],
        "due_weeks": _columns(due, width=1)[0],
    }


def _names() -> tuple[str, ...]:
    return tuple(item.name for item in fields(Courses))


def _number(value: date | float | None) -> float:
    if value is None:
        return NAN
    return float(value.toordinal()) if isinstance(value, date) else float(value)


def _row(values: Iterable[date | float | None]) -> Floats:
    return np.array([_number(value) for value in values], dtype=np.float64)


def _columns(
    cases: Iterable[Sequence[Sequence[date | float | None]]], *, width: int
) -> tuple[Floats, ...]:
    """Return one nan-padded (cases, longest) array per part of each entry."""
    rows = [list(case) for case in cases]
    longest = max((len(row) for row in rows), default=0)
    table = np.full((width, len(rows), longest), NAN)
    for at, row in enumerate(rows):
        for column, entry in enumerate(row):
            table[:, at, column] = [_number(part) for part in entry]
    return tuple(table)


def only_row(value: Part, row: int) -> Part:
    """Return a copy of nested arrays that holds one case; the rest stays as it is."""
    return cast(Part, _sliced(value, row))


def _sliced(value: Any, row: int) -> Any:
    if isinstance(value, np.ndarray):
        return value[row : row + 1]
    if not is_dataclass(value) or isinstance(value, type):
        return value
    parts = {}
    for item in fields(value):
        whole = getattr(value, item.name)
        part = _sliced(whole, row)
        if part is not whole:
            parts[item.name] = part
    return replace(value, **parts) if parts else value


@dataclass(frozen=True, slots=True)
class Track:
    """Dated values per case in time order, with at least one column."""

    day: Floats
    value: Floats
    count: Whole

    @property
    def first_day(self) -> Floats:
        """Return the day of the first entry, nan where there is none."""
        return self.day[:, 0]

    @property
    def first(self) -> Floats:
        """Return the first value, nan where there is none."""
        return self.value[:, 0]

    @property
    def latest_day(self) -> Floats:
        """Return the day of the last entry, nan where there is none."""
        return self.at_latest(self.day)

    @property
    def latest(self) -> Floats:
        """Return the last value, nan where there is none."""
        return self.at_latest(self.value)

    def at_latest(self, table: Floats) -> Floats:
        """Return each row's entry of `table` in the column of the last entry."""
        return pick(table, np.maximum(self.count - 1, 0))


def pick(table: Floats, column: Whole) -> Floats:
    """Return one entry per row; nan where the column is negative."""
    taken = np.take_along_axis(table, np.maximum(column, 0)[:, None], axis=1)[:, 0]
    return np.where(column < 0, NAN, taken)


def track(day: Floats, value: Floats, *, since: Floats, until: float) -> Track:
    """Return the entries with a value that lie between two days, in time order."""
    blank = np.full((len(day), 1), NAN)
    day, value = np.hstack([day, blank]), np.hstack([value, blank])
    with np.errstate(invalid="ignore"):
        kept = (day >= since[:, None]) & (day <= until) & ~np.isnan(value)
    day = np.where(kept, day, NAN)
    longest = max(int(kept.sum(axis=1).max(initial=0)), 1)
    order = np.argsort(day, axis=1, kind="stable")[:, :longest]
    return Track(
        day=np.take_along_axis(day, order, axis=1),
        value=np.take_along_axis(np.where(kept, value, NAN), order, axis=1),
        count=kept.sum(axis=1),
    )
