"""Clinicians as units of a funnel: their counted cases, and what may be drawn."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import pandas as pd

from clinic.templatetags.clinic_format import DASH, percent, plural

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

# Stands for several clinicians; no person has this key.
TOGETHER = 0


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


def sheltered(units: Sequence[Unit]) -> list[Unit]:
    """Put clinicians below the floor together, so that nobody's few cases are shown.

    One alone would follow from the total: then the next smallest joins, until there
    are two or more and their cases reach the floor. Whoever has no case stands alone.
    """
    small = [unit for unit in units if 0 < unit.count.of < FLOOR]
    rest = sorted(
        (unit for unit in units if unit.is_drawn), key=lambda unit: unit.count.of
    )
    while small and rest and not _is_shelter(small):
        small.append(rest.pop(0))
    if not small:
        return list(units)
    kept = [unit for unit in units if unit not in small]
    return [*kept, _together(small)]


def _is_shelter(small: Sequence[Unit]) -> bool:
    return len(small) > 1 and sum(unit.count.of for unit in small) >= FLOOR


def _together(small: Sequence[Unit]) -> Unit:
    counted, met = small[0].counted, small[0].reached
    for unit in small[1:]:
        counted, met = counted.append(unit.counted), met.append(unit.reached)
    return Unit(TOGETHER, f"{plural(len(small), 'clinician')} together", counted, met)


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
