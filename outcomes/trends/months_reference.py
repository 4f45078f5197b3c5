"""The numbers that a reference period freezes for the figures over the months.

A reference period is one of openings, for the whole clinic: cases opened from its
first to its last day, in the months where they are counted.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from statistics import median
from typing import Any

import pandas as pd

from ..frames.period import PeriodData
from ..period_choice import Choice
from ..science.group.control import FEWEST_POINTS, value_limits, widening
from ..science.group.funnel import pooled_rate
from . import reached
from .month_points import Stretch, opened_months, stretches

SHARE, OPENED, MEASURED = "share-reached", "opened", "re-measured"
MONTHS_SUBJECTS = (SHARE, OPENED, MEASURED)


def months_reference(data: PeriodData, subject: str) -> dict[str, Any]:
    """Return the numbers to freeze for a subject, from the cases of a period.

    Raises ValueError, in words for the person, where the period has fewer than 12
    points or covers a part of the clinic only.
    """
    if is_narrowed(data.choice):
        raise ValueError("A reference period is of the whole clinic: take filters off.")
    if subject == OPENED:
        return _of_values(opened_counts(data, only_whole=True))
    split = share_points(data) if subject == SHARE else measured_points(data)
    return _of_shares([part for part in split if part.is_complete and part.is_drawn])


def reference_for(data: PeriodData, subject: str) -> Mapping[str, Any] | None:
    """Return what is in force for a subject; None for a part of the clinic too."""
    return None if is_narrowed(data.choice) else data.references.get(subject)


def is_narrowed(choice: Choice) -> bool:
    """Tell whether a choice leaves out a part of the clinic."""
    parts = (choice.side, choice.duration, choice.baseline)
    return choice.clinician is not None or any(parts)


def share_points(data: PeriodData) -> list[Stretch]:
    """Return how many counted cases reached an important gain, by outcome month."""
    split = reached.counting(data.cases)
    return stretches(split.cases, split.reached.index, on=data.on)


def measured_points(data: PeriodData) -> list[Stretch]:
    """Return how many of those due were measured again, by outcome month."""
    due = due_cases(data)
    hits = due.index[due["state"] != "lost"]
    return stretches(due, hits, on=data.on)


def due_cases(data: PeriodData) -> pd.DataFrame:
    """Return the cases that could be measured again: a first score, due, first knee."""
    states = ("measured", "not comparable", "lost")
    cases = data.cases
    return cases[cases["is_first"].eq(True) & cases["state"].isin(states)]


def opened_counts(data: PeriodData, *, only_whole: bool = False) -> pd.Series:
    """Return the number of cases opened, by month; months without one are 0."""
    months = [
        month
        for month, is_whole in opened_months(data.choice, on=data.on)
        if is_whole or not only_whole
    ]
    found = data.cases["opened"].dt.to_period("M").value_counts()
    return found.reindex(pd.PeriodIndex(months, freq="M"), fill_value=0)


def _of_shares(points: Sequence[Stretch]) -> dict[str, Any]:
    _check(len(points))
    counts = [point.count for point in points]
    centre = pooled_rate(counts) or 0.0
    return {
        "centre": centre,
        "median": median(count.share for count in counts),
        "widened": widening(counts, centre),
        "reached": sum(count.reached for count in counts),
        "of": sum(count.of for count in counts),
        "points": len(points),
    }


def _of_values(values: pd.Series) -> dict[str, Any]:
    _check(len(values))
    numbers = [float(value) for value in values]
    found = value_limits(numbers)
    return {
        "centre": found.centre,
        "median": median(numbers),
        "low": found.low,
        "high": found.high,
        "range_high": found.range_high,
        "points": found.points,
    }


def _check(points: int) -> None:
    if points < FEWEST_POINTS:
        raise ValueError(
            f"A reference period needs {FEWEST_POINTS} complete points; this one has "
            f"{points}. Choose a longer one."
        )
