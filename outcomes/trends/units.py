"""Clinicians as units of a funnel: their counted cases, and what may be drawn."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import pandas as pd

from clinic.templatetags.clinic_format import DASH, percent

from ..science.group import funnel
from ..science.group.funnel import INNER, OUTER, Count, Lies
from ..science.group.small_numbers import FLOOR, Showing, share_shown

LIMITS_RULE = (
    "Limits: exact binomial, 95 % and 99.8 % (Spiegelhalter 2005), interpolated "
    "between two counts (from memory). Whether somebody lies beyond is decided by the "
    "exact chance of a count so far out or further, not by the drawn line, which is a "
    "little too narrow at the top for so few cases."
)
NO_SPREAD_RULE = (
    "The limits allow for chance alone. More spread than that cannot be estimated from "
    "fewer than about ten clinicians, so it is not; with cases that differ in kind, "
    "more than 5 of 100 will lie beyond 95 %. There is no order of merit: names are "
    "in the order of the alphabet."
)


@dataclass(frozen=True, slots=True, eq=False)
class Unit:
    """One clinician with the counted cases, and those among them that reached it."""

    key: int
    name: str
    counted: pd.Index
    reached: pd.Index

    @property
    def count(self) -> Count:
        """Return how many of how many."""
        return Count(len(self.reached), len(self.counted))

    @property
    def is_drawn(self) -> bool:
        """Tell whether there are enough cases for a per cent and a point."""
        return share_shown(len(self.counted)) is Showing.PER_CENT


def unit_of(key: int, name: str, counted: pd.DataFrame) -> Unit:
    """Return a clinician as a unit, from all counted cases."""
    own = counted[counted["clinician"] == key]
    return Unit(key, name, own.index, own.index[own["is_important"] == 1])


def target_of(units: Iterable[Unit]) -> float | None:
    """Return the pooled share of these units; None where nobody was counted."""
    return funnel.pooled_rate([unit.count for unit in units])


def lies_words(count: Count, target: float) -> str:
    """Say where a share lies against the target's limits, and on which side."""
    place = funnel.lies(count, target)
    if place is Lies.INSIDE:
        return "inside"
    return f"{place}, {'above' if count.share > target else 'below'}"


def limit_words(target: float, of: int, *, coverage: float) -> str:
    """Return the limits for so many cases, such as "36 % to 79 %"."""
    found = funnel.limits(target, [of], coverage=coverage)
    low, high = (percent(100 * float(end[0])) for end in (found.low, found.high))
    return f"{low} to {high}"


def placed(count: Count, target: float) -> tuple[str, str, str]:
    """Return both pairs of limits and where a unit lies; dashes below the floor."""
    if share_shown(count.of) is not Showing.PER_CENT:
        return DASH, DASH, f"fewer than {FLOOR}: not drawn" if count.of else DASH
    inner, outer = (
        limit_words(target, count.of, coverage=level) for level in (INNER, OUTER)
    )
    return inner, outer, lies_words(count, target)


def luck_words(units: int) -> str:
    """Say how often somebody lies outside although all are equal."""
    inner, outer = (
        100 * funnel.chance_of_any_outside(units, coverage=level)
        for level in (INNER, OUTER)
    )
    return (
        f"Were all {units} alike, luck alone would still put somebody beyond 95 % on "
        f"up to {inner:.0f} of 100 such pages, and beyond 99.8 % on up to "
        f"{max(1, round(outer))}."
    )
