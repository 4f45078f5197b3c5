"""How cases went on after their first review: the next scores, and how care ended."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd

from ..frames.period import PeriodData
from ..science.mcid import reached
from ..science.measures import measure

REACHED, LATER, NOT_YET, NO_ROOM, NOT_SINCE, NO_BEFORE, APART = (
    "reached at the first later score",
    "reached only at a later score",
    "measured since, not reached",
    "no room for an important gain at the review",
    "not measured since",
    "no score up to the review",
    "later scores cannot be compared with the one before",
)
JUDGED = (REACHED, LATER, NOT_YET)


def first_reviews(data: PeriodData) -> pd.DataFrame:
    """Return one row for each reviewed case, by episode, from its first review.

    Adds `reviewed_on` and `decision`; `first` and `best`, the change from the last
    score up to that day to the first and to the best later one (points, positive is
    better); `first_weeks` to that score and `open_weeks` to today or the last day of
    care; `after`, one of the seven ways to go on.
    """
    kinds = {"episode": "int64", "reviewed_on": "datetime64[us]", "decision": "str"}
    reviews = data.reviews.astype(kinds).sort_values("reviewed_on", kind="stable")
    reviews = reviews.drop_duplicates("episode").set_index("episode")
    reviewed = reviews[["reviewed_on", "decision"]]
    cases = data.cases.join(reviewed, how="inner")
    looks = data.looks[data.looks["episode"].isin(cases.index)]
    reviewed_on = cases["reviewed_on"].reindex(looks["episode"]).to_numpy()
    looks = looks.assign(reviewed_on=reviewed_on)
    is_before = looks["on"] <= looks["reviewed_on"]
    before = looks[is_before].drop_duplicates("episode", keep="last")
    before = before.set_index("episode")[["score", "gain", "mcid"]]
    later = looks[~is_before]
    later = later.assign(before=before["gain"].reindex(later["episode"]).to_numpy())
    return _gone_on(cases, before, _changed(later), on=data.on)


def _changed(later: pd.DataFrame) -> pd.DataFrame:
    """Judge each later score against the last one up to the review."""
    later = later.assign(change=later["gain"] - later["before"])
    is_hit, _ = reached(later["change"], mdc=later["mdc"], mcid=later["mcid"])
    return later.assign(is_hit=is_hit & later["change"].notna())


def _gone_on(
    cases: pd.DataFrame, before: pd.DataFrame, later: pd.DataFrame, *, on: date
) -> pd.DataFrame:
    known = later[later["change"].notna()]
    first = known.drop_duplicates("episode").set_index("episode")
    until = cases["discharged"].fillna(pd.Timestamp(on))
    taken = first["on"].reindex(cases.index)
    cases = cases.assign(
        first=first["change"].reindex(cases.index),
        best=known.groupby("episode")["change"].max().reindex(cases.index),
        first_weeks=(taken - cases["reviewed_on"]).dt.days / 7,
        open_weeks=(until - cases["reviewed_on"]).dt.days / 7,
    )
    at = cases.index
    told = [
        (~at.isin(before.index), NO_BEFORE),
        (~at.isin(later["episode"]), NOT_SINCE),
        (~at.isin(known["episode"]), APART),
        (at.isin(first.index[first["is_hit"]]), REACHED),
        (at.isin(known.loc[known["is_hit"], "episode"]), LATER),
        (at.isin(_without_room(cases, before)), NO_ROOM),
    ]
    after = np.select([held for held, _ in told], [words for _, words in told], NOT_YET)
    return cases.assign(after=after)


def _without_room(cases: pd.DataFrame, before: pd.DataFrame) -> pd.Index:
    """Return cases whose score at the review leaves no room for an important gain."""
    rows = before.join(cases["measure"], how="inner")
    has_room = pd.Series(data=True, index=rows.index)
    for key, these in rows.groupby("measure"):
        room = measure(str(key)).has_room(these["score"], these["mcid"])
        has_room.loc[these.index] = room
    return rows.index[~has_room]
