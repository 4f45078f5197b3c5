"""Time to an event of a group: survival, and incidence where another end competes.

Times are in weeks from opening. Ties: who has an event at a time was at risk until
then, and so was who is censored at that time: events come before censorings.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import norm
from statsmodels.duration.survfunc import CumIncidenceRight, SurvfuncRight

Array = NDArray[np.float64]

CENSORED, EVENT, COMPETING = 0, 1, 2
# Where fewer remain at risk a curve ends: statistics reference 2.4, "about 5".
FEW = 5
# A product of shares, taken through logarithms, falls a few 1e-16 beside a half.
TOLERANCE = 1e-9


@dataclass(frozen=True, slots=True)
class Curve:
    """A step curve: `value` holds from its week on; limits are nan where undefined."""

    weeks: Array
    value: Array
    se: Array
    low: Array
    high: Array

    def at(self, week: float, start: float) -> tuple[float, float, float]:
        """Return value and limits at a week; `start` is the value before any step."""
        passed = int(np.searchsorted(self.weeks, week, side="right"))
        if not passed:
            return start, np.nan, np.nan
        here = passed - 1
        return float(self.value[here]), float(self.low[here]), float(self.high[here])


NOBODY = Curve(*(np.empty(0) for _ in range(5)))


@dataclass(frozen=True, slots=True)
class Median:
    """The first week that half have reached, with limits; inf means not reached."""

    week: float
    low: float
    high: float


def survival(weeks: ArrayLike, happened: ArrayLike, level: float = 0.95) -> Curve:
    """Return the Kaplan-Meier curve with Greenwood errors and limits on the log scale.

    Kaplan & Meier 1958; log limits as is usual in survival packages, at most 1.
    """
    times, events = np.asarray(weeks, float), np.asarray(happened, int)
    if not len(times):
        return NOBODY
    fitted = SurvfuncRight(times, events)
    value, se = np.asarray(fitted.surv_prob), np.asarray(fitted.surv_prob_se)
    with np.errstate(divide="ignore", invalid="ignore"):
        spread = _z(level) * se / value
        low, high = value * np.exp(-spread), np.minimum(value * np.exp(spread), 1.0)
    return Curve(np.asarray(fitted.surv_times, float), value, se, low, high)


def cumulative_incidence(
    weeks: ArrayLike, ends: ArrayLike, of: int = EVENT, level: float = 0.95
) -> Curve:
    """Return the Aalen-Johansen share that has come to one end by each week.

    `ends` holds CENSORED, EVENT or COMPETING. Errors by the delta method
    (Marubini & Valsecchi 1995, as statsmodels has it), limits on the scale of
    log(-log), which keeps them between 0 and 1.
    """
    times, kinds = np.asarray(weeks, float), np.asarray(ends, int)
    if not len(times):
        return NOBODY
    with np.errstate(divide="ignore", invalid="ignore"):
        fitted = CumIncidenceRight(times, kinds)
    if kinds.max(initial=CENSORED) < of:
        steps = np.asarray(fitted.times, float)
        none = np.full(len(steps), np.nan)
        return Curve(steps, np.zeros(len(steps)), none, none, none)
    value, se = np.asarray(fitted.cinc[of - 1]), np.asarray(fitted.cinc_se[of - 1])
    low, high = _log_log_limits(value, se, level)
    return Curve(np.asarray(fitted.times, float), value, se, low, high)


def at_risk(weeks: ArrayLike, at: Sequence[float]) -> tuple[int, ...]:
    """Count who is still followed, without an end yet, just before each week."""
    times = np.asarray(weeks, float)
    return tuple(int((times >= week).sum()) for week in at)


def last_week(weeks: ArrayLike, few: int = FEW) -> float | None:
    """Return the last week at which at least `few` are at risk; None if never."""
    times = np.sort(np.asarray(weeks, float))
    return float(times[-few]) if len(times) >= few else None


def median_survival(curve: Curve) -> Median:
    """Return the first week with survival of half or less, limits from the band."""
    return Median(*(_first(curve.weeks, b <= 0.5 + TOLERANCE) for b in _bands(curve)))


def median_incidence(curve: Curve) -> Median:
    """Return the first week by which half have come to the end, limits from the band.

    Unlike a median of survival it may never be reached, however long one waits.
    """
    value, low, high = _bands(curve)
    reached = [
        _first(curve.weeks, band >= 0.5 - TOLERANCE) for band in (value, high, low)
    ]
    return Median(*reached)


def _bands(curve: Curve) -> tuple[Array, Array, Array]:
    return curve.value, curve.low, curve.high


def _first(weeks: Array, holds: NDArray[np.bool_]) -> float:
    found = np.flatnonzero(holds)
    return float(weeks[found[0]]) if len(found) else np.inf


def _log_log_limits(value: Array, se: Array, level: float) -> tuple[Array, Array]:
    """Return limits of a share on the log(-log) scale; nan at 0, at 1, without SE."""
    with np.errstate(divide="ignore", invalid="ignore"):
        spread = _z(level) * se / np.abs(value * np.log(value))
        low, high = value ** np.exp(spread), value ** np.exp(-spread)
    is_inside = (value > 0) & (value < 1) & np.isfinite(spread)
    return np.where(is_inside, low, np.nan), np.where(is_inside, high, np.nan)


def _z(level: float) -> float:
    return float(norm.ppf(0.5 + level / 2))
