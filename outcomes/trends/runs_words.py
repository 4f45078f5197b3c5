"""What the runs of a row of months say, in words."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median

from ..science.group.run_rules import FEWEST_USEFUL, runs

RUNS_RULE = (
    "One family of run rules and no other: a run on one side of the median longer than "
    "chance gives, or too few crossings of it (Anhøj & Olesen 2014; formulas from "
    "memory). Of rows without any change fewer than 5 of 100 are called a shift around "
    "their own median, but 10 to 16 of 100 around one frozen on 12 points (computed, "
    "12 to 24 points), since that is uncertain itself. Rising or falling points in a "
    "row are not judged."
)


def shift_words(values: Sequence[float], centre: float | None = None) -> str:
    """Say whether a row of months shifted; nothing of an empty one."""
    if not values:
        return ""
    found = runs(values, median(values) if centre is None else centre)
    if not found.can_be_judged:
        return (
            f"Too few points to tell a shift from chance: {found.useful} lie off the "
            f"median, {FEWEST_USEFUL} are needed."
        )
    if found.is_shift:
        return (
            "They shifted: they stay on one side of the median longer, or cross it "
            "less often, than chance gives."
        )
    return "They show no shift beyond chance."


def runs_rule(values: Sequence[float], centre: float | None = None) -> str:
    """Return the rule with the runs found, around a frozen median or else its own."""
    if not values:
        return RUNS_RULE
    found = runs(values, median(values) if centre is None else centre)
    if not found.can_be_judged:
        return RUNS_RULE
    return (
        f"{RUNS_RULE} Here, of {found.useful} points off the median the longest run on "
        f"one side is {found.longest} (chance gives up to {found.longest_expected}), "
        f"and the median is crossed {found.crossings} times (chance gives "
        f"{found.fewest_expected} or more)."
    )
