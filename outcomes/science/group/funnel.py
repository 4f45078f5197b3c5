"""Shares of several units held against one target, with exact binomial limits.

Limits at 95 % and 99.8 %: Spiegelhalter 2005, Stat Med 24:1185 (levels confirmed; the
interpolation between two counts is from memory). No overdispersion is offered: it
cannot be estimated from fewer than about ten units, and a clinic has fewer clinicians
(recommendation, not a standard). Nothing here puts units in order.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray
from scipy.stats import binom

Floats = NDArray[np.float64]

INNER = 0.95
OUTER = 0.998


class Lies(StrEnum):
    """Where a unit lies against the target."""

    INSIDE = "inside"
    BEYOND_INNER = "beyond 95 %"
    BEYOND_OUTER = "beyond 99.8 %"


@dataclass(frozen=True, slots=True)
class Count:
    """How many of how many reached it."""

    reached: int
    of: int

    def __post_init__(self) -> None:
        if not 0 <= self.reached <= self.of:
            raise ValueError(f"{self.reached} of {self.of} is not a share")

    @property
    def share(self) -> float:
        """Return the share; raises ZeroDivisionError for none of none."""
        return self.reached / self.of


@dataclass(frozen=True, slots=True)
class Limits:
    """Lower and upper limits, one per unit size, between 0 and 1."""

    low: Floats
    high: Floats


@dataclass(frozen=True, slots=True)
class Tails:
    """Exact chance of a count so low or lower, and so high or higher."""

    low: float
    high: float


def pooled_rate(counts: Sequence[Count]) -> float | None:
    """Return all reached over all counted; None where nobody was counted."""
    of = sum(count.of for count in counts)
    return sum(count.reached for count in counts) / of if of else None


def limits(target: float, sizes: Sequence[int], *, coverage: float) -> Limits:
    """Return the exact binomial limits around a target for units of these sizes.

    The count is interpolated: r is the smallest count with F(r) >= q, and the limit is
    (r - (F(r) - q) / (F(r) - F(r - 1))) / n, cut at 0 and 1 and never past the target.
    Sizes from 1 up.
    """
    n = np.asarray(sizes, dtype=np.int64)
    tail = (1 - coverage) / 2
    low = _quantile(target, n, tail) / n
    high = _quantile(target, n, 1 - tail) / n
    return Limits(
        low=np.clip(np.minimum(low, target), 0, 1),
        high=np.clip(np.maximum(high, target), 0, 1),
    )


def _quantile(target: float, n: NDArray[np.int64], q: float) -> Floats:
    r = binom.ppf(q, n, target)
    upto, below = binom.cdf(r, n, target), binom.cdf(r - 1, n, target)
    result: Floats = r - (upto - q) / (upto - below)
    return result


def tails(count: Count, target: float) -> Tails:
    """Return the exact binomial tails of a count, itself included."""
    return Tails(
        low=float(binom.cdf(count.reached, count.of, target)),
        high=float(binom.sf(count.reached - 1, count.of, target)),
    )


def lies(count: Count, target: float) -> Lies:
    """Tell where a unit lies, by its exact tail and not by the drawn line.

    The interpolated upper line leaves its own count out of the tail, so that at 10 to
    40 cases 4 to 8 in a hundred units would lie above it by luck instead of 2.5
    (computed). With the tail of a count so far or further the luck is never more than
    the level says.
    """
    found = tails(count, target)
    far = min(found.low, found.high)
    if far < (1 - OUTER) / 2:
        return Lies.BEYOND_OUTER
    return Lies.BEYOND_INNER if far < (1 - INNER) / 2 else Lies.INSIDE


def chance_of_any_outside(units: int, *, coverage: float) -> float:
    """Return how likely one of so many independent equal units is outside by luck."""
    return float(1 - coverage**units)
