"""What the runs of a row of months say, in words."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median

from ..science.group.run_rules import FEWEST_USEFUL, runs

RUNS_RULE = (
    "One family of run rules and no other: a run on one side of the median longer than "
    "chance gives, or too few crossings of it (Anhøj & Olesen 2014; formulas from "
    "memory). About 5 of 100 rows without any change are called a shift. Rising or "
    "falling points in a row are not judged."
)


def runs_words(values: Sequence[float], centre: float | None = None) -> str:
    """Say whether a row shifted, around a frozen median or else its own."""
    if not values:
        return ""
    found = runs(values, median(values) if centre is None else centre)
    if not found.can_be_judged:
        return (
            f"Too few points to tell a shift from chance: {found.useful} lie off the "
            f"median, {FEWEST_USEFUL} are needed."
        )
    said = "They shifted" if found.is_shift else "They show no shift"
    return (
        f"{said}: of {found.useful} points off the median the longest run on one side "
        f"is {found.longest} (chance gives up to {found.longest_expected}), and it is "
        f"crossed {found.crossings} times (chance gives {found.fewest_expected} or "
        "more)."
    )
