"""Which cases count where a share that reached an important gain is formed.

One knee per person, the first opened in the period; of these the ones with a first
score, an outcome that can be compared, and room for an important gain.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

import pandas as pd

from clinic.templatetags.clinic_format import day, plural

from ..frames.period import CLOSES_DAYS_AFTER, PeriodData
from ..science.group.funnel import Count
from .counted import CaseSets
from .sections import LeftOut

RULE = (
    "Reached means that the gain from the first score to the outcome is at least the "
    "smallest important change of the measure. A person counts once, with the first "
    "knee opened in the period."
)
# In this order: a case is left out for the first reason that applies.
REASONS = {
    "further": "further knees of people who count once",
    "no_baseline": "without a first score",
    "under_way": "under way: the outcome is not due yet",
    "lost": "lost: due, and not measured then",
    "not_comparable": "measured in another edition or language, or nothing in common",
    "no_room": "without room: from the first score no important gain can occur",
}
_STATES = {
    "no_baseline": "without a baseline",
    "under_way": "under way",
    "lost": "lost",
    "not_comparable": "not comparable",
}


@dataclass(frozen=True, slots=True)
class Counting:
    """The cases that count, and those left out by reason; together all there are."""

    cases: pd.DataFrame
    left: dict[str, pd.Index]

    @property
    def reached(self) -> pd.DataFrame:
        """Return the counted cases that reached an important gain."""
        return self.cases[self.cases["is_important"] == 1]

    @property
    def count(self) -> Count:
        """Return how many of how many."""
        return Count(len(self.reached), len(self.cases))


def counting(cases: pd.DataFrame) -> Counting:
    """Split the cases of a period into those that count and those that do not."""
    left: dict[str, pd.Index] = {"further": cases.index[~cases["is_first"].eq(True)]}
    rest = cases[cases["is_first"].eq(True)]
    for name, state in _STATES.items():
        left[name] = rest.index[rest["state"] == state]
    measured = rest[rest["state"] == "measured"]
    left["no_room"] = measured.index[measured["has_room"] != 1]
    return Counting(measured[measured["has_room"] == 1], left)


def left_out(split: Counting, sets: CaseSets) -> tuple[LeftOut, ...]:
    """Return what is left out in words, with the cases."""
    return tuple(
        sets.left_out(REASONS[name], f"left_{name}", episodes)
        for name, episodes in split.left.items()
        if len(episodes)
    )


def early_words(data: PeriodData, counted: pd.DataFrame) -> tuple[str, ...]:
    """Say that the newest cases count only if they ended early; else nothing."""
    waits = timedelta(weeks=data.policy.planned_weeks, days=CLOSES_DAYS_AFTER)
    settled = pd.Timestamp(data.on - waits)
    early = int((counted["opened"] > settled).sum())
    waiting = int((data.cases["state"] == "under way").sum())
    if not early or not waiting:
        return ()
    return (
        f"{plural(early, 'counted case')} of the newest ended care before the weeks of "
        f"the outcome were over, while {waiting} opened as late still wait. Who ends "
        "early is not like the rest: a period that ends on "
        f"{day(settled.date())} or sooner is free of that.",
    )


def why_none(data: PeriodData) -> str:
    """Say that nothing can be counted, and whether there are cases at all."""
    if not len(data.cases):
        return "No case was opened in the period."
    return (
        "No case of the period can be counted yet: none has a first score, an outcome "
        "to hold against it and room for an important gain."
    )


def listed(names: Sequence[str]) -> str:
    """Return "A", "A and B" or "A, B and C"."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"
