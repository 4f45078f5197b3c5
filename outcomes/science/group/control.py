"""Limits for numbers that come in a row of months: XmR, p and Laney's p'.

Limits are computed from one stretch of time and held against later months; the caller
decides which stretch that is and freezes it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .funnel import Count

Floats = NDArray[np.float64]

# Expected range of two normal values in units of their SD (Shewhart's d2), as the
# NIST/SEMATECH e-Handbook rounds it. Confirmed.
D2 = 1.128
SIGMAS = 3.0
# Fewest points that limits are frozen on (recommendation of the literature on
# monitoring, not a standard).
FEWEST_POINTS = 12
# p' is for large denominators; from how many a month on is a project assumption: at
# 200 chance alone moves a share by about 3 points, so other causes of spread show.
LARGE_MONTH = 200


@dataclass(frozen=True, slots=True)
class Rounding:
    """Which rounding of 3/d2 and of D4 the limits are computed with."""

    name: str
    of_values: float
    of_ranges: float


# The two that are in use; they differ in the fourth figure (2.66 and 2.6596).
WORKSHOP = Rounding("2.66 and 3.267", 2.66, 3.267)
HANDBOOK = Rounding("3/1.128 and 3.267", SIGMAS / D2, 3.267)


@dataclass(frozen=True, slots=True)
class ValueLimits:
    """Limits of single values and of the steps between neighbours (XmR)."""

    centre: float
    low: float
    high: float
    mean_range: float
    range_high: float
    points: int


@dataclass(frozen=True, slots=True)
class ShareLimits:
    """Limits of a share, one pair per month, between 0 and 1."""

    low: Floats
    high: Floats


def value_limits(
    values: Sequence[float], *, rounding: Rounding = WORKSHOP
) -> ValueLimits:
    """Return mean ± 2.66 × mean moving range; raises ValueError below two values.

    The upper limit of the moving range is 3.267 times its mean.
    """
    row = np.asarray(values, dtype=np.float64)
    if row.size < 2:
        raise ValueError("a moving range needs two values")
    centre = float(row.mean())
    mean_range = float(np.abs(np.diff(row)).mean())
    reach = rounding.of_values * mean_range
    return ValueLimits(
        centre=centre,
        low=centre - reach,
        high=centre + reach,
        mean_range=mean_range,
        range_high=rounding.of_ranges * mean_range,
        points=int(row.size),
    )


def share_limits(
    centre: float, sizes: Sequence[int], *, widened: float = 1.0
) -> ShareLimits:
    """Return centre ± 3 × sqrt(centre × (1 - centre) / n), cut at 0 and 1.

    `widened` is Laney's sigma_z; 1 gives the plain p-chart. Sizes from 1 up.
    """
    reach = SIGMAS * widened * _error(centre, np.asarray(sizes, dtype=np.float64))
    return ShareLimits(
        low=np.clip(centre - reach, 0, 1), high=np.clip(centre + reach, 0, 1)
    )


def z_scores(counts: Sequence[Count], centre: float) -> Floats:
    """Return how many standard errors each share lies from the centre.

    All 0 where the centre is 0 or 1: then there is no spread to measure in.
    """
    shares = np.array([count.share for count in counts], dtype=np.float64)
    error = _error(centre, np.array([count.of for count in counts], dtype=np.float64))
    off = shares - centre
    return np.divide(off, error, out=np.zeros_like(off), where=error > 0)


def spread_between(counts: Sequence[Count], centre: float) -> float:
    """Return Laney's sigma_z: the mean moving range of z, over 1.128.

    Laney 2002, Qual Eng 14:531 (confirmed that 1 gives the p-chart). The moving range
    and not the SD of z, which a slow drift would swell. nan below two counts.
    """
    z = z_scores(counts, centre)
    return float(np.abs(np.diff(z)).mean() / D2) if z.size > 1 else float("nan")


def widening(counts: Sequence[Count], centre: float) -> float:
    """Return what to widen a p-chart by: never below 1, and 1 for small months.

    With small months sigma_z is mostly noise of its own.
    """
    is_large = len(counts) > 1 and min(count.of for count in counts) >= LARGE_MONTH
    return max(1.0, spread_between(counts, centre)) if is_large else 1.0


def _error(centre: float, n: Floats) -> Floats:
    result: Floats = np.sqrt(centre * (1 - centre) / n)
    return result
