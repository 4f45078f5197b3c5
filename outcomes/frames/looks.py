"""One row for each score of a case's primary measure, with its change judged."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from django.db.models import F

from ..models import Assessment
from ..querysets import person_keys
from ..science.comparison import compare, reason_against
from ..science.mcid import NO_WORDS, Point, reached
from ..science.measures import measure
from ..science.policy import StallPolicy
from ..science.primary import primary_numbers

if TYPE_CHECKING:
    from clinic.querysets import EpisodeQuerySet

FIELDS = ("assessed_on", "score", "edition", "language", "mode", "pk")
COLUMNS = ("episode", "on", "score", "edition", "language", "mode", "row")


def read_looks(
    cases: pd.DataFrame, episodes: EpisodeQuerySet, policy: StallPolicy
) -> pd.DataFrame:
    """Return every score of the primary measure, oldest first; three queries.

    A person's measure counts in each of their episodes that it falls into. Gains are
    in points, positive means better; a score that must not be compared with the
    first has no gain.
    """
    looks = pd.concat([_of_knees(episodes), _of_people(cases, episodes)])
    looks = looks.sort_values(["on", "row"], ignore_index=True)
    about = cases[["opened", "measure"]].rename(columns={"measure": "about"})
    looks = looks.join(about, on="episode")
    looks["day"] = (looks["on"] - looks["opened"]).dt.days.astype("float64")
    return judged(looks, policy).drop(columns=["opened", "row"])


def _of_knees(episodes: EpisodeQuerySet) -> pd.DataFrame:
    rows = (
        Assessment.objects.standing()
        .filter(
            episode__in=episodes.values("pk"),
            measure=F("episode__primary_measure"),
            is_of_person=False,
            score__isnull=False,
        )
        .values_list("episode_id", *FIELDS)
    )
    return _framed(rows, COLUMNS)


def _of_people(cases: pd.DataFrame, episodes: EpisodeQuerySet) -> pd.DataFrame:
    """Share a person's scores among the episodes that they fall into."""
    held = cases[cases["measure"].isin(person_keys())].reset_index()
    rows = (
        Assessment.objects.standing()
        .filter(
            patient__in=episodes.values("patient"),
            measure__in=sorted(set(held["measure"])),
            is_of_person=True,
            score__isnull=False,
        )
        .values_list("patient_id", "measure", *FIELDS)
    )
    told = _framed(rows, ("patient", "measure", *COLUMNS[1:]))
    both = held.merge(told, on=["patient", "measure"])
    until = both["discharged"].fillna(pd.Timestamp.max.normalize())
    falls_in = (both["on"] >= both["opened"]) & (both["on"] <= until)
    return both.loc[falls_in, list(COLUMNS)]


def _framed(rows: Any, columns: tuple[str, ...]) -> pd.DataFrame:
    frame = pd.DataFrame.from_records(list(rows), columns=list(columns))
    frame["on"] = pd.to_datetime(frame["on"])
    texts = [name for name in ("language", "mode", "measure") if name in frame]
    numbers = {"score": "float64", "edition": "int64", "row": "int64"}
    return frame.astype(dict.fromkeys(texts, "str") | numbers)


def judged(looks: pd.DataFrame, policy: StallPolicy) -> pd.DataFrame:
    """Set each score against the first of its episode; rows in order of time.

    Runs one query, and only where a patient named the items.
    """
    first = looks.groupby("episode")[["score", "edition", "language"]].transform(
        "first"
    )
    marks = {key: primary_numbers(key, policy) for key in looks["about"].unique()}
    sign, mdc, mcid = (
        looks["about"].map({key: getattr(mark, name) for key, mark in marks.items()})
        for name in ("sign", "mdc", "mcid")
    )
    looks["is_comparable"] = (looks["edition"] == first["edition"]) & (
        looks["language"] == first["language"]
    )
    gain = (looks["score"] - first["score"]) * sign.astype("float64")
    looks["gain"] = gain.where(looks["is_comparable"])
    looks["mdc"], looks["mcid"] = mdc.astype("float64"), mcid.astype("float64")
    _compare_own_items(looks)
    is_important, is_detectable = reached(
        looks["gain"], mdc=looks["mdc"], mcid=looks["mcid"]
    )
    known = looks["gain"].notna()
    looks["is_important"] = is_important.astype("float64").where(known)
    looks["is_detectable"] = is_detectable.astype("float64").where(known)
    return looks


def _compare_own_items(looks: pd.DataFrame) -> None:
    """Judge what a patient named by the activities rated both times, in place.

    Its limits hang on how many those are, so these rows are compared one by one.
    """
    named = {key: measure(key).has_own_items for key in looks["about"].unique()}
    own = looks[looks["about"].map(named).eq(True)]
    if own.empty:
        return
    told = pd.DataFrame.from_records(
        list(_own_gains(own)), columns=["at", "gain", "mdc", "mcid"], index="at"
    )
    looks.loc[told.index, list(told.columns)] = told
    looks.loc[told.index, "is_comparable"] = told["gain"].notna()


def _own_gains(own: pd.DataFrame) -> Iterator[tuple[int, float, float, float]]:
    rows = Assessment.objects.filter(pk__in=own["row"].tolist())
    answers = dict(rows.values_list("pk", "answers"))
    for _, looks in own.groupby("episode"):
        points = {row.Index: _point(row, answers) for row in looks.itertuples()}
        baseline = next(iter(points.values()))
        about = measure(str(looks["about"].iloc[0]))
        for at, point in list(points.items())[1:]:
            if reason_against(about, baseline, point):
                yield at, np.nan, np.nan, np.nan
                continue
            pair = compare(about, baseline, point, mdc=None, mcid=None, words=NO_WORDS)
            yield at, pair.gain, pair.mdc.value, pair.mcid.value


def _point(row: Any, answers: dict[int, Any]) -> Point:
    return Point(
        value=row.score,
        on=row.on.date(),
        edition=row.edition,
        mode=row.mode,
        language=row.language,
        answers=answers[row.row],
    )
