"""Straight lines through a course whose measurement error is known.

The error of a slope comes from the measure's own standard error, not from the
scatter of three to five points, which can be absurdly small by luck. All arrays
have one row per case; time is in days, slopes are in points a week.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

DAYS_A_WEEK = 7.0


class State(StrEnum):
    """What a slope with its limits says about one course."""

    IMPROVING = "improving"
    WORSENING = "worsening"
    PLATEAU_SUPPORTED = "plateau_supported"
    NO_MEASURABLE_PROGRESS = "no_measurable_progress"
    UNCERTAIN = "uncertain"
    INSUFFICIENT = "insufficient"


@dataclass(frozen=True, slots=True)
class Lines:
    """Least-squares lines with one-sided limits; nan where there is no line."""

    slope: Floats
    error: Floats
    lower: Floats
    upper: Floats
    looks: NDArray[np.int64]
    weeks: Floats


def fit_lines(
    day: Floats, value: Floats, *, use: Flags, sem: Floats, z: float
) -> Lines:
    """Fit one least-squares line per row to the entries marked in `use`.

    Standard error of the slope = SEM / sqrt(Sxx), Sxx = sum of squared distances
    from the mean time in weeks.
    """
    count = use.sum(axis=1)
    with np.errstate(invalid="ignore", divide="ignore"):
        week = np.where(use, day, 0.0) / DAYS_A_WEEK
        score = np.where(use, value, 0.0)
        from_mean = np.where(use, week - (week.sum(1) / count)[:, None], 0.0)
        sxx = (from_mean**2).sum(1)
        slope = np.where(sxx > 0, (from_mean * score).sum(1) / sxx, np.nan)
        error = np.where(sxx > 0, sem / np.sqrt(sxx), np.nan)
    return Lines(
        slope=slope,
        error=error,
        lower=slope - z * error,
        upper=slope + z * error,
        looks=count,
        weeks=_span_weeks(day, use),
    )


def stack_lines(lines: Sequence[Lines]) -> Lines:
    """Return several lines per row as one set of tables, a column for each."""
    columns = {
        item.name: np.stack([getattr(line, item.name) for line in lines], axis=1)
        for item in fields(Lines)
    }
    return Lines(**columns)


def _span_weeks(day: Floats, use: Flags) -> Floats:
    first = np.where(use, day, np.inf).min(axis=1, initial=np.inf)
    last = np.where(use, day, -np.inf).max(axis=1, initial=-np.inf)
    return np.where(use.any(axis=1), last - first, 0.0) / DAYS_A_WEEK


def excludes_worthwhile(
    lines: Lines, *, worthwhile: Floats, min_looks: int, min_weeks: float
) -> Flags:
    """Return where the limits exclude a worthwhile rate without showing a trend.

    Equivalence logic: the upper limit lies below the worthwhile rate, while the
    limits still include 0 (a slope clearly above 0 is improving, one clearly
    below is worsening).
    """
    enough = (lines.looks >= min_looks) & (lines.weeks >= min_weeks)
    no_trend = (lines.lower <= 0) & (lines.upper >= 0)
    return enough & no_trend & (lines.upper < worthwhile)


def states(
    lines: Lines, *, worthwhile: Floats, min_looks: int = 3, min_weeks: float = 4
) -> list[State]:
    """Name each line's state; the first that holds, in the order of `State`."""
    chosen = np.select(
        [
            (lines.looks < min_looks) | (lines.weeks < min_weeks),
            lines.lower > 0,
            lines.upper < 0,
            lines.upper < worthwhile,
            lines.slope < worthwhile / 2,
        ],
        [
            State.INSUFFICIENT,
            State.IMPROVING,
            State.WORSENING,
            State.PLATEAU_SUPPORTED,
            State.NO_MEASURABLE_PROGRESS,
        ],
        default=State.UNCERTAIN,
    )
    return [State(name) for name in chosen]


def theil_sen(day: Floats, value: Floats) -> float:
    """Return the median slope over all pairs of one course, in points a week.

    Sen 1968: hardly moved by one odd look, so it checks the fitted line.
    """
    first, second = np.triu_indices(len(day), k=1)
    apart = (day[second] - day[first]) / DAYS_A_WEEK
    rise = value[second] - value[first]
    kept = apart != 0
    if not kept.any():
        return float("nan")
    return float(np.median(rise[kept] / apart[kept]))
