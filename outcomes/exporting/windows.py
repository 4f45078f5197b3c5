"""Days after opening rounded to windows of weeks, since an exact pattern singles out.

Windows are those of the statistics reference (1.3). Where they end is a project
assumption: a day goes to the nearest window, a day half-way between two to the earlier
one; from 2 weeks before opening (as a first score may be) it is window 0; what is
earlier than that, or more than 13 weeks after week 52, leaves with no row.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Generic, TypeVar

WEEKS = (0, 3, 6, 9, 12, 26, 52)
FIRST_DAY = -14
# As far above week 52 as the middle between 26 and 52 is below it.
LAST_DAY = (52 + 13) * 7
Row = TypeVar("Row")


@dataclass(frozen=True, slots=True)
class Windowed(Generic[Row]):
    """One row per window in order of time, and how many rows stay behind."""

    kept: dict[int, Row]
    left_out: int


def window_of(day: int) -> int | None:
    """Return the window in weeks of a day after opening; None outside of them all."""
    if not FIRST_DAY <= day <= LAST_DAY:
        return None
    return min(WEEKS, key=lambda weeks: (abs(weeks * 7 - day), weeks))


def nearest(rows: Iterable[tuple[int, Row]]) -> Windowed[Row]:
    """Keep the row nearest to each window, of two as near the earlier; count the rest.

    `rows` are (day after opening, row) of one measure of one episode.
    """
    best: dict[int, tuple[int, int, Row]] = {}
    count = 0
    for day, row in rows:
        count += 1
        weeks = window_of(day)
        if weeks is None:
            continue
        distance = abs(weeks * 7 - day)
        if weeks not in best or (distance, day) < best[weeks][:2]:
            best[weeks] = (distance, day, row)
    kept = {weeks: best[weeks][2] for weeks in sorted(best)}
    return Windowed(kept=kept, left_out=count - len(kept))
