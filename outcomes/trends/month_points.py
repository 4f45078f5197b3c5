"""Months of a period: which are whole, and which are put together to be counted."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

import pandas as pd

from ..frames.period import CLOSES_DAYS_AFTER
from ..period_choice import Choice
from ..science.group.funnel import Count
from ..science.group.small_numbers import FLOOR

POOLED_RULE = (
    f"A month with fewer than {FLOOR} cases is put together with the next ones until "
    f"{FLOOR} are reached (project assumption), so that no point stands for a few."
)


@dataclass(frozen=True, slots=True)
class Stretch:
    """One month, or several put together, with the cases of it."""

    first: pd.Period
    last: pd.Period
    cases: pd.Index
    hits: pd.Index
    is_complete: bool

    @property
    def count(self) -> Count:
        """Return how many of how many."""
        return Count(len(self.hits), len(self.cases))

    @property
    def is_drawn(self) -> bool:
        """Tell whether there are enough cases for a per cent and a point."""
        return len(self.cases) >= FLOOR

    @property
    def name(self) -> str:
        """Return "Mar 2026", or "Mar to May 2026" where months are put together."""
        if self.first == self.last:
            return month_words(self.last)
        first = month_words(self.first)
        if self.first.year == self.last.year:
            first = first.split()[0]
        return f"{first} to {month_words(self.last)}"

    @property
    def middle(self) -> date:
        """Return the day in the middle, where it is drawn."""
        begin, end = self.first.start_time.date(), self.last.end_time.date()
        return begin + (end - begin) // 2


def month_words(month: pd.Period) -> str:
    """Return a month such as "Mar 2026", whatever the machine's language."""
    names = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split()
    return f"{names[month.month - 1]} {month.year}"


def stretches(cases: pd.DataFrame, hits: pd.Index, *, on: date) -> list[Stretch]:
    """Return the months of the outcome day, put together where they are small.

    A month is complete once the outcome window of its last day has closed; months
    that are complete and such that are not stay apart; the last of each may stay small.
    """
    months = cases["due_on"].dt.to_period("M")
    single = [
        Stretch(month, month, group.index, group.index.intersection(hits), closed)
        for month, group in cases.groupby(months)
        for closed in [is_closed(month, on=on)]
    ]
    return [
        stretch
        for is_complete in (True, False)
        for stretch in _pooled(s for s in single if s.is_complete is is_complete)
    ]


def is_closed(month: pd.Period, *, on: date) -> bool:
    """Tell whether every outcome that was due in a month is in, or will not come."""
    last: date = month.end_time.date()
    return last + timedelta(days=CLOSES_DAYS_AFTER) <= on


def _pooled(single: Iterable[Stretch]) -> list[Stretch]:
    done: list[Stretch] = []
    for stretch in single:
        if done and not done[-1].is_drawn:
            stretch = _together(done.pop(), stretch)
        done.append(stretch)
    return done


def _together(before: Stretch, after: Stretch) -> Stretch:
    return Stretch(
        before.first,
        after.last,
        before.cases.append(after.cases),
        before.hits.append(after.hits),
        after.is_complete,
    )


def opened_months(choice: Choice, *, on: date) -> list[tuple[pd.Period, bool]]:
    """Return every month of a period, and whether all of it is over and inside."""
    last = min(choice.until_on, on)
    months = pd.period_range(choice.from_on, max(last, choice.from_on), freq="M")
    return [
        (
            month,
            month.start_time.date() >= choice.from_on
            and month.end_time.date() <= choice.until_on
            and month.end_time.date() < on,
        )
        for month in months
    ]
