"""How far one score can move by chance alone: standard formulas, scale points."""

from __future__ import annotations

from collections.abc import Mapping
from math import sqrt
from types import MappingProxyType

# Two-sided normal quantiles by confidence level in per cent, as rounded in the
# papers that publish a minimal detectable change.
Z_OF_LEVEL: Mapping[int, float] = MappingProxyType({90: 1.645, 95: 1.96})

# Means such as 17/3 - 11/3 fall a few 1e-16 short of 2. Distinct scores differ by
# more than 1e-4, so this tolerance repairs the arithmetic and moves no verdict.
TOLERANCE = 1e-9


def reaches(gain: float, amount: float) -> bool:
    """Whether an unrounded gain is at least the amount."""
    return gain >= amount - TOLERANCE


def sem(sd: float, icc: float) -> float:
    """Standard error of measurement, SD x sqrt(1 - ICC)."""
    if sd < 0 or not 0 <= icc <= 1:
        raise ValueError("The SD must be 0 or more and the ICC between 0 and 1.")
    return sd * sqrt(1 - icc)


def sem_from_differences(sd_of_differences: float) -> float:
    """Standard error of measurement from retest differences, SD/sqrt 2."""
    return sd_of_differences / sqrt(2)


def mdc(error: float, level: int = 95) -> float:
    """Minimal detectable change of one person, z x sqrt 2 x SEM."""
    return _z(level) * sqrt(2) * error


def sem_from_mdc(change: float, level: int) -> float:
    """Standard error of measurement that a published MDC implies."""
    return change / (_z(level) * sqrt(2))


def reliable_change_index(before: float, after: float, *, error: float) -> float:
    """Change over its standard error; beyond 1.96 is reliable.

    Jacobson & Truax 1991, with the sqrt 2 of Christensen & Mendoza 1986.
    """
    if error <= 0:
        raise ValueError("The standard error of measurement must be above 0.")
    return (after - before) / (sqrt(2) * error)


def _z(level: int) -> float:
    if level not in Z_OF_LEVEL:
        raise ValueError("The level must be 90 or 95 per cent.")
    return Z_OF_LEVEL[level]
