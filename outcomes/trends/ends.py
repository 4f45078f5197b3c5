"""How each case's wait for an important improvement ended, and in which week.

Weeks count from the first score. A score falls into the week that it completes: day
22 is in week 4, so an improvement "by week 4" was seen on day 22 to 28, and happened
between the score before and that one. Scores after the last day of care do not count.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from ..frames.period import PeriodData
from ..science.group.time_to import CENSORED, COMPETING, EVENT


def counted_cases(cases: pd.DataFrame) -> pd.DataFrame:
    """Return one knee a person, with a first score that leaves room to improve."""
    return cases[cases["is_first"] & cases["has_room"].eq(1)]


def ends_of(
    data: PeriodData, cases: pd.DataFrame, *, is_confirmed: bool
) -> pd.DataFrame:
    """Return `week` and `end` of each case: EVENT, COMPETING or CENSORED.

    The event is the first score with an important gain; confirmed, it is the first
    such score right after another one. Leaving comes first for who was discharged
    without it, and for who is still in care but was lost to measurement, at the last
    score. Everybody else is followed to the last score.
    """
    seen = _comparable(data.looks, cases)
    good = seen["is_important"].eq(1)
    if is_confirmed:
        good &= seen.groupby("episode")["is_important"].shift(1).eq(1)
    event = seen[good].groupby("episode")["day"].first().reindex(cases.index)
    last = seen.groupby("episode")["day"].last().reindex(cases.index)
    left = (cases["discharged"] - cases["opened"]).dt.days.astype("float64")
    planned = (cases["due_on"] - cases["opened"]).dt.days
    is_lost = left.isna() & cases["state"].eq("lost") & (last < planned)
    is_left = left.notna() | is_lost
    end = np.where(event.notna(), EVENT, np.where(is_left, COMPETING, CENSORED))
    day = event.fillna(left).fillna(last)
    week = np.ceil((day - cases["baseline_day"]).clip(lower=0) / 7)
    return pd.DataFrame({"week": week, "end": end}, index=cases.index)


def _comparable(looks: pd.DataFrame, cases: pd.DataFrame) -> pd.DataFrame:
    """Return the scores that may be held against the first, up to the end of care."""
    here = looks[looks["episode"].isin(cases.index) & looks["is_comparable"].eq(True)]
    here = here.join(cases["discharged"], on="episode")
    return here[here["discharged"].isna() | (here["on"] <= here["discharged"])]
