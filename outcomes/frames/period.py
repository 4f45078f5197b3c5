"""A period of the caseload: its cases with their outcomes, and what stands beside.

Definitions (project assumptions, printed on the pages): the outcome of a case is the
score nearest to the planned end of care, from 2 weeks before to 4 weeks after it;
without one, for a case that was discharged before these weeks, its last score, if that
is at least 3 weeks after opening and at most 14 days before the last day of care.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from ..ending import END_WITHIN_DAYS
from ..models import CaseReview
from ..period_choice import BASELINE_BANDS, Choice
from ..science.measures import measure
from ..science.policy import StallPolicy
from ..science.primary import primary_numbers
from .cases import opened_in, read_cases
from .looks import read_looks

if TYPE_CHECKING:
    from clinic.querysets import EpisodeQuerySet

OPENS_DAYS_BEFORE, CLOSES_DAYS_AFTER = 14, 28
EARLIEST_DAY = 21
REVIEW_FIELDS = ("episode_id", "reviewed_on", "decision", "look_again_on", "findings")


@dataclass(frozen=True, slots=True, kw_only=True)
class PeriodData:
    """Everything that the sections are built from.

    `cases` is by episode; `looks`, `reviews`, `flags` and `given` have an `episode`.
    The last two are empty unless they were asked for.
    """

    choice: Choice
    on: date
    policy: StallPolicy
    cases: pd.DataFrame
    looks: pd.DataFrame
    reviews: pd.DataFrame
    people: Mapping[int, str]
    declined: int
    changes: tuple[tuple[date, str], ...] = ()
    references: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    flags: pd.DataFrame = field(default_factory=pd.DataFrame)
    given: pd.DataFrame = field(default_factory=pd.DataFrame)


def read_frames(
    episodes: EpisodeQuerySet, choice: Choice, *, policy: StallPolicy, on: date
) -> dict[str, Any]:
    """Return cases, looks, reviews and the number of people left out; six queries."""
    chosen = opened_in(episodes, choice)
    declined = chosen.filter(patient__audit_declined_on__isnull=False)
    chosen = chosen.shared()
    cases = read_cases(chosen)
    looks = read_looks(cases, chosen, policy)
    cases = narrowed(with_outcomes(cases, looks, policy=policy, on=on), choice)
    rows = CaseReview.objects.filter(episode__in=chosen.values("pk")).order_by(
        "reviewed_on", "pk"
    )
    return {
        "cases": cases,
        "looks": looks[looks["episode"].isin(cases.index)].reset_index(drop=True),
        "reviews": _reviews(rows, cases),
        "declined": declined.values("patient").distinct().count(),
    }


def with_outcomes(
    cases: pd.DataFrame, looks: pd.DataFrame, *, policy: StallPolicy, on: date
) -> pd.DataFrame:
    """Return the cases with baseline, outcome and what state the outcome is in."""
    first = looks.groupby("episode")[["score", "day"]].first()
    first.columns = ["baseline", "baseline_day"]
    cases = cases.join(first)
    planned = policy.planned_weeks * 7
    cases["due_on"] = cases["opened"] + pd.Timedelta(days=planned)
    closed = cases["due_on"] + pd.Timedelta(days=CLOSES_DAYS_AFTER)
    ended = cases["discharged"].notna()
    cases["is_due"] = (closed <= pd.Timestamp(on)) | ended
    cases = cases.join(_outcomes(cases, looks, planned=planned))
    cases["state"] = np.select(
        [
            cases["baseline"].isna(),
            ~cases["is_due"],
            cases["outcome"].isna(),
            ~cases["is_comparable"].eq(True),
        ],
        ["without a baseline", "under way", "lost", "not comparable"],
        "measured",
    )
    unknown = cases["state"] != "measured"
    told = ["outcome", "outcome_day", "gain", "is_important", "is_detectable"]
    cases.loc[unknown, told] = np.nan
    return _placed(cases.drop(columns="is_comparable"), policy)


def _outcomes(
    cases: pd.DataFrame, looks: pd.DataFrame, *, planned: int
) -> pd.DataFrame:
    """Return the score that counts as each case's outcome, as defined above."""
    later = looks[looks.groupby("episode").cumcount() > 0]
    later = later.join(cases[["opened", "discharged"]], on="episode")
    off = (later["day"] - planned).abs()
    day = later["day"]
    is_near = day.between(planned - OPENS_DAYS_BEFORE, planned + CLOSES_DAYS_AFTER)
    last = (later["discharged"] - later["opened"]).dt.days
    is_end = (
        (last < planned - OPENS_DAYS_BEFORE)
        & (day >= EARLIEST_DAY)
        & (last - day).between(0, END_WITHIN_DAYS)
    )
    near = later.assign(is_end=~is_near, off=off.where(is_near, last - day))
    near = near[is_near | is_end].sort_values(["is_end", "off", "day"], kind="stable")
    chosen = near.drop_duplicates("episode").set_index("episode")
    names = {"score": "outcome", "day": "outcome_day"}
    kept = ["gain", "is_important", "is_detectable", "is_comparable"]
    return chosen.rename(columns=names)[[*names.values(), *kept]]


def _placed(cases: pd.DataFrame, policy: StallPolicy) -> pd.DataFrame:
    """Say where each baseline lies on its scale, and whether it leaves room."""
    for key in cases["measure"].unique():
        about, these = measure(key), cases["measure"] == key
        first = cases.loc[these, "baseline"]
        worst = about.low if about.best_possible == about.high else about.high
        # Thirds by multiplying: a quotient would fall a hair beside its edge.
        thirds, scale = 3 * (first - worst).abs(), about.high - about.low
        room = about.has_room(first, primary_numbers(key, policy).mcid)
        known = first.notna()
        cases.loc[these, "has_room"] = np.where(known, room, np.nan)
        is_in = [thirds < scale, thirds <= 2 * scale]
        band = np.select(is_in, BASELINE_BANDS[:2], BASELINE_BANDS[2])
        cases.loc[these, "baseline_band"] = np.where(known, band, "")
    return cases if len(cases) else cases.assign(has_room=np.nan, baseline_band="")


def narrowed(cases: pd.DataFrame, choice: Choice) -> pd.DataFrame:
    """Keep the chosen bands, and mark each person's first knee among what is left."""
    if choice.duration:
        cases = cases[cases["duration"] == choice.duration]
    if choice.baseline:
        cases = cases[cases["baseline_band"] == choice.baseline]
    return cases.assign(is_first=~cases["patient"].duplicated())


def _reviews(rows: Any, cases: pd.DataFrame) -> pd.DataFrame:
    names = ["episode", *REVIEW_FIELDS[1:]]
    reviews = pd.DataFrame.from_records(
        list(rows.values_list(*REVIEW_FIELDS)), columns=names
    )
    for name in ("reviewed_on", "look_again_on"):
        reviews[name] = pd.to_datetime(reviews[name])
    reviews["episode"] = reviews["episode"].astype("int64")
    reviews = reviews.join(cases["opened"], on="episode", how="inner")
    reviews["weeks"] = (reviews["reviewed_on"] - reviews["opened"]).dt.days / 7
    return reviews.drop(columns="opened").reset_index(drop=True)
