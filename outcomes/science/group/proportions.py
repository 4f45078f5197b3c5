"""A proportion and a difference of two, each with its interval; 0 of 0 is no data.

Wilson's interval holds its level in small groups where the textbook formula does not
(Brown, Cai, DasGupta 2001, Stat Sci 16:101). All ends are held within what can be.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from statsmodels.stats.proportion import (
    confint_proportions_2indep,
    proportion_confint,
)

LEVEL = 0.95

_Method = Literal["wilson", "beta"]


@dataclass(frozen=True, slots=True)
class Share:
    """`count` of `of` cases as a proportion from 0 to 1, with the ends around it."""

    count: int
    of: int
    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Difference:
    """One proportion minus another, from -1 to 1, with the ends around it."""

    value: float
    low: float
    high: float


def wilson(count: int, of: int, *, level: float = LEVEL) -> Share | None:
    """Return the share with Wilson's score interval, or None for 0 of 0.

    Raises ValueError where `count` does not lie between 0 and `of`.
    """
    return _share(count, of, method="wilson", level=level)


def clopper_pearson(count: int, of: int, *, level: float = LEVEL) -> Share | None:
    """Return the share with the exact interval, or None for 0 of 0.

    Wider than Wilson's: its level is never fallen below. Raises ValueError where
    `count` does not lie between 0 and `of`.
    """
    return _share(count, of, method="beta", level=level)


def newcombe(
    count: int, of: int, other_count: int, other_of: int, *, level: float = LEVEL
) -> Difference | None:
    """Return the first share minus the second, or None where a group is empty.

    Newcombe's hybrid of the two score intervals (1998, Stat Med 17:873, method 10).
    """
    _check(count, of)
    _check(other_count, other_of)
    if not of or not other_of:
        return None
    low, high = confint_proportions_2indep(
        count, of, other_count, other_of, method="newcomb", alpha=1 - level
    )
    value = count / of - other_count / other_of
    return Difference(value, max(-1.0, float(low)), min(1.0, float(high)))


def _share(count: int, of: int, *, method: _Method, level: float) -> Share | None:
    """Return the share with its ends; the share never lies outside them."""
    _check(count, of)
    if not of:
        return None
    low, high = proportion_confint(count, of, alpha=1 - level, method=method)
    value = count / of
    low = 0.0 if not count else min(value, max(0.0, float(low)))
    high = 1.0 if count == of else max(value, min(1.0, float(high)))
    return Share(count, of, value, low, high)


def _check(count: int, of: int) -> None:
    if not 0 <= count <= of:
        raise ValueError(f"{count} of {of} is not a share.")
