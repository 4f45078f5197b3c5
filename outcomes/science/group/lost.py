"""What the lost may hide: how they differed at the start, and the bounds they leave."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .proportions import Share, wilson

# A spread so small is what adding equal numbers leaves in the last binary digits.
NO_SPREAD = 1e-9
NOTABLE = 0.1  # standardised difference; common practice in cohort studies


@dataclass(frozen=True, slots=True)
class Summary:
    """The mean, standard deviation (n - 1 below) and number of one group."""

    mean: float
    sd: float | None
    n: int

    @classmethod
    def of(cls, values: Sequence[float]) -> Summary | None:
        """Summarise values that are known; None where there is none."""
        known = np.asarray(values, dtype=float)
        known = known[~np.isnan(known)]
        if not known.size:
            return None
        sd = float(known.std(ddof=1)) if known.size > 1 else None
        return cls(float(known.mean()), sd, int(known.size))


@dataclass(frozen=True, slots=True)
class Bounds:
    """A response rate if all the lost failed, among the measured, if all succeeded."""

    worst: Share
    measured: Share | None
    best: Share


def pooled_difference(one: Summary | None, other: Summary | None) -> float | None:
    """Return one mean minus the other in units of the pooled standard deviation.

    Each variance weighs by its n - 1. None where either group has fewer than two
    cases, or where nobody differs from anybody.
    """
    if one is None or other is None or one.sd is None or other.sd is None:
        return None
    free = one.n + other.n - 2
    variance = ((one.n - 1) * one.sd**2 + (other.n - 1) * other.sd**2) / free
    return _standardised(one, other, variance)


def simple_difference(one: Summary | None, other: Summary | None) -> float | None:
    """Return the same with the plain mean of both variances below.

    The form usual for balance between groups (Austin 2009, Stat Med 28:3083; from
    memory): the sizes of the groups do not move it.
    """
    if one is None or other is None or one.sd is None or other.sd is None:
        return None
    return _standardised(one, other, (one.sd**2 + other.sd**2) / 2)


def _standardised(one: Summary, other: Summary, variance: float) -> float | None:
    spread = math.sqrt(variance)
    return (one.mean - other.mean) / spread if spread > NO_SPREAD else None


def bounds(responders: int, measured: int, lost: int) -> Bounds | None:
    """Return what the rate would be whatever became of the lost; None without cases.

    The intervals are Wilson's and hold chance alone; between worst and best lies what
    nobody knows.
    """
    everyone = measured + lost
    worst, best = wilson(responders, everyone), wilson(responders + lost, everyone)
    if worst is None or best is None:
        return None
    return Bounds(worst, wilson(responders, measured), best)


def rate_if_lost_did(
    responders: int, measured: int, lost: int, *, times: float
) -> float | None:
    """Return the rate of all if the lost responded `times` as often as the measured.

    None where nobody was measured: there is no rate to take a part of.
    """
    if not measured:
        return None
    of_lost = min(1.0, times * responders / measured)
    return (responders + lost * of_lost) / (measured + lost)
