"""How far a group moved: typical change with its interval, spread, and effect sizes.

All gains are in scale points, positive for better. Rules that differ between programs
are named: quartiles are those of linear interpolation between order statistics (type 7
of Hyndman and Fan 1996, Am Stat 50:361), standard deviations have n - 1 below.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special, stats

LEVEL = 0.95
EXACT_UP_TO = 200  # cases; beyond it the normal form differs by less than a rank
NARROW = 1e-10  # points; sums of two gains that differ by less are one
QUARTILE_RULE = "linear interpolation between the ordered gains"


@dataclass(frozen=True, slots=True)
class Typical:
    """A Hodges-Lehmann change in points; no ends where the group is too small.

    `coverage` is the level that the interval truly has when no gains are tied; with
    ties it is at least that.
    """

    value: float
    low: float | None
    high: float | None
    coverage: float | None
    n: int


@dataclass(frozen=True, slots=True)
class Mean:
    """A mean in points with Student's interval; no ends for a single case."""

    value: float
    low: float | None
    high: float | None
    sd: float | None
    n: int


@dataclass(frozen=True, slots=True)
class Quartiles:
    """Lower quartile, median and upper quartile by `QUARTILE_RULE`."""

    lower: float
    median: float
    upper: float


@dataclass(frozen=True, slots=True)
class Responsiveness:
    """A standardised response mean: plain, corrected by Hedges, and its 95 % ends."""

    value: float
    corrected: float
    low: float
    high: float


def hodges_lehmann(gains: Sequence[float], *, level: float = LEVEL) -> Typical | None:
    """Return the median of all averages of two gains, each with itself too.

    The ends are the ordered averages whose ranks the signed-rank distribution gives
    (Hollander and Wolfe, Nonparametric Statistical Methods; from memory): exact up to
    `EXACT_UP_TO` gains, normal beyond. None without gains.
    """
    n = len(gains)
    if not n:
        return None
    values, pairs = np.sort(np.asarray(gains, dtype=float)), n * (n + 1) // 2
    middle = (ranked_average(values, (pairs + odd) // 2) for odd in (1, 2))
    value = sum(middle) / 2
    rank, coverage = _signed_rank(n, level)
    if coverage < level:
        return Typical(value, None, None, None, n)
    low, high = (ranked_average(values, at) for at in (rank, pairs + 1 - rank))
    return Typical(value, low, high, coverage, n)


def ranked_average(values: NDArray[np.float64], rank: int) -> float:
    """Return the average of two values that has a rank (from 1) among all such.

    `values` in ascending order, each paired with itself too. They are counted and not
    listed, since a thousand times the cases make a million times the pairs.
    """
    low, high = 2 * values[0] - 1, 2 * values[-1]
    # Sums of two: fewer than `rank` are at or below `low`, not so at `high`.
    while high - low > NARROW and low < (centre := (low + high) / 2) < high:
        if _sums_upto(values, centre) < rank:
            low = centre
        else:
            high = centre
    # The sum itself, of two of the values: what the search left has its own rounding.
    at = np.searchsorted(values, low - NARROW / 8 - values)
    is_there = at < len(values)
    return float((values[is_there] + values[at[is_there]]).min() / 2)


def _sums_upto(values: NDArray[np.float64], most: float) -> int:
    """Count the sums of two values, each with itself too, that are not above `most`."""
    both_ways = int(np.searchsorted(values, most - values, side="right").sum())
    return (both_ways + int(np.searchsorted(values, most / 2, side="right"))) // 2


def signed_rank_chances(n: int) -> np.ndarray:
    """Return the chance of each sum of ranks 0 to n(n+1)/2 when each sign is a toss."""
    chances = np.ones(1)
    for rank in range(1, n + 1):
        wider = np.zeros(len(chances) + rank)
        wider[: len(chances)] += chances / 2
        wider[rank:] += chances / 2
        chances = wider
    return chances


def _signed_rank(n: int, level: float) -> tuple[int, float]:
    """Return the rank of the lower end (1 or more) and the coverage it gives."""
    tail = (1 - level) / 2
    if n <= EXACT_UP_TO:
        below = np.cumsum(signed_rank_chances(n))
        rank = max(1, int(np.searchsorted(below, tail)))
        return rank, float(1 - 2 * below[rank - 1])
    middle, spread = n * (n + 1) / 4, math.sqrt(n * (n + 1) * (2 * n + 1) / 24)
    rank = math.floor(middle + stats.norm.ppf(tail) * spread)
    return rank, float(1 - 2 * stats.norm.cdf((rank - 0.5 - middle) / spread))


def quartiles(values: Sequence[float]) -> Quartiles | None:
    """Return the quartiles by `QUARTILE_RULE`, or None without values."""
    if not len(values):
        return None
    lower, median, upper = np.quantile(values, (0.25, 0.5, 0.75), method="linear")
    return Quartiles(float(lower), float(median), float(upper))


def student_mean(values: Sequence[float], *, level: float = LEVEL) -> Mean | None:
    """Return the mean with Student's t interval, or None without values."""
    n = len(values)
    if not n:
        return None
    value = float(np.mean(values))
    if n == 1:
        return Mean(value, None, None, None, n)
    sd = float(np.std(values, ddof=1))
    reach = float(stats.t.ppf((1 + level) / 2, n - 1)) * sd / math.sqrt(n)
    return Mean(value, value - reach, value + reach, sd, n)


def standardised_response_mean(
    gains: Sequence[float], *, level: float = LEVEL
) -> Responsiveness | None:
    """Return the mean gain in units of the gains' own standard deviation.

    Its ends invert the noncentral t distribution. None for fewer than two gains or
    for gains that are all alike: there is no spread to measure by.
    """
    about = student_mean(gains, level=level)
    if about is None or not about.sd or about.sd < 1e-12:
        return None
    value = about.value / about.sd
    t = value * math.sqrt(about.n)
    low, high = (
        float(special.nctdtrinc(about.n - 1, share, t)) / math.sqrt(about.n)
        for share in ((1 + level) / 2, (1 - level) / 2)
    )
    return Responsiveness(value, value * hedges_factor(about.n - 1), low, high)


def hedges_factor(df: int) -> float:
    """Return Hedges' correction of a small group's bias, 1 - 3/(4 df - 1)."""
    return 1 - 3 / (4 * df - 1)


def effect_size(gains: Sequence[float], baselines: Sequence[float]) -> float | None:
    """Return the mean gain in units of the standard deviation at baseline.

    The effect size of Kazis 1989 (Glass's form). None for fewer than two cases or for
    baselines that are all alike.
    """
    at_start = student_mean(baselines)
    if at_start is None or not at_start.sd or at_start.sd < 1e-12:
        return None
    return float(np.mean(gains)) / at_start.sd
