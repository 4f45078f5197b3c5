"""The courses of many cases as arrays for the review rules: five queries.

The rows are fetched once and kept, so that the arrays for the rules and the values
for the screen come from the same reading.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, NamedTuple

import numpy as np

from clinic.models import Episode, Screen, Visit
from programs.models import NextMorning

from ..models import Assessment, CaseReview, PainScore
from ..science.courses import NAN, Courses, Floats
from ..science.mcid import Point
from ..science.policy import StallPolicy
from ..science.primary import primary_numbers


class Look(NamedTuple):
    """One scored assessment as it was fetched."""

    episode_id: int
    patient_id: int
    measure: str
    is_of_person: bool
    assessed_on: date
    score: float
    edition: int
    mode: str
    language: str
    wording_id: int | None
    answers: dict[str, Any]

    def as_point(self) -> Point:
        """Return the look as a point of a course."""
        return Point(
            value=self.score,
            on=self.assessed_on,
            edition=self.edition,
            mode=self.mode,
            language=self.language,
            wording=str(self.wording_id or ""),
            answers=self.answers,
        )


class Pain(NamedTuple):
    """Worst pain of the last week on one day."""

    episode_id: int
    rated_on: date
    worst: int


class Seen(NamedTuple):
    """One visit with the response told at it."""

    episode_id: int
    visited_on: date
    attendance: str
    next_planned_on: date | None
    pain_during: int | None
    next_morning: str | None


@dataclass(frozen=True, slots=True)
class Readings:
    """Everything the rules and a caseload row need, by episode."""

    episodes: list[Episode]
    looks: dict[int, list[Look]]
    ratings: dict[int, list[Look]]
    pain: dict[int, list[Pain]]
    visits: dict[int, list[Seen]]
    undecided: dict[int, Screen]
    reviews: dict[int, CaseReview]


def read_courses(episodes: Iterable[Episode]) -> Readings:
    """Fetch what stands for these episodes; five queries, however many there are."""
    cases = list(episodes)
    ids = [case.pk for case in cases]
    looks = looks_by_episode(cases)
    ratings = {
        pk: [k for k in rows if k.measure == "groc"] for pk, rows in looks.items()
    }
    primary = {case.pk: case.primary_measure for case in cases}
    return Readings(
        episodes=cases,
        looks={
            pk: [k for k in rows if k.measure == primary[pk]]
            for pk, rows in looks.items()
        },
        ratings=ratings,
        pain=_grouped(_pain(ids)),
        visits=_grouped(_visits(ids)),
        undecided=_undecided(ids),
        reviews=_latest_reviews(ids),
    )


def looks_by_episode(cases: Sequence[Episode]) -> dict[int, list[Look]]:
    """Return each case's scores of its primary measure and its ratings, in order.

    A person's measures are shared between the episodes of both knees; a neighbour's
    primary measure may be among the rows.
    """
    wanted = {case.primary_measure for case in cases} | {"groc"}
    rows = (
        Assessment.objects.standing()
        .filter(
            patient_id__in={case.patient_id for case in cases},
            measure__in=wanted,
            score__isnull=False,
        )
        .in_order()
        .values_list(*Look._fields)
    )
    of_patient = defaultdict(list)
    for case in cases:
        of_patient[case.patient_id].append(case)
    looks: dict[int, list[Look]] = defaultdict(list)
    for look in map(Look._make, rows):
        for case in of_patient[look.patient_id]:
            if _belongs(look, case):
                looks[case.pk].append(look)
    return looks


def _belongs(look: Look, case: Episode) -> bool:
    if not look.is_of_person:
        return look.episode_id == case.pk
    until = case.discharged_on or date.max
    return case.opened_on <= look.assessed_on <= until


def _pain(ids: list[int]) -> Iterable[Pain]:
    rows = (
        PainScore.objects.standing()
        .filter(episode_id__in=ids, worst__isnull=False)
        .order_by("rated_on")
        .values_list(*Pain._fields)
    )
    return map(Pain._make, rows)


def _visits(ids: list[int]) -> Iterable[Seen]:
    rows = (
        Visit.objects.standing()
        .filter(episode_id__in=ids)
        .order_by("visited_on")
        .values_list(
            "episode_id",
            "visited_on",
            "attendance",
            "next_planned_on",
            "response__pain_during",
            "response__next_morning",
        )
    )
    return map(Seen._make, rows)


def _grouped(rows: Iterable[Any]) -> dict[int, list[Any]]:
    groups: dict[int, list[Any]] = defaultdict(list)
    for row in rows:
        groups[row.episode_id].append(row)
    return groups


def _undecided(ids: list[int]) -> dict[int, Screen]:
    """Return the earliest undecided yes of each case."""
    screens = (
        Screen.objects.standing()
        .filter(episode_id__in=ids, is_positive=True, decided_at__isnull=True)
        .order_by("-answered_on", "-pk")
    )
    return {screen.episode_id: screen for screen in screens}


def _latest_reviews(ids: list[int]) -> dict[int, CaseReview]:
    rows = CaseReview.objects.filter(episode_id__in=ids).order_by("reviewed_on", "pk")
    return {review.episode_id: review for review in rows}


def as_courses(readings: Readings, policy: StallPolicy) -> Courses:
    """Lay the readings out as arrays, one row per case."""
    cases = readings.episodes
    due = [[(week,) for week in weeks(case, policy)] for case in cases]
    waiting = [readings.undecided.get(case.pk) for case in cases]
    (due_weeks,) = _padded(due, width=1)
    return Courses(
        **_standards(cases, policy),
        **_tracks(readings),
        opened=_days(case.opened_on for case in cases),
        planned_day=_days(planned_on(readings, case.pk) for case in cases),
        red_flag_day=_days(flag.answered_on if flag else None for flag in waiting),
        due_weeks=due_weeks,
        then_every=_row(policy.then_every_weeks for _ in cases),
    )


def _standards(cases: Sequence[Episode], policy: StallPolicy) -> dict[str, Floats]:
    """Return how each case's primary measure is judged."""
    marks = [primary_numbers(case.primary_measure, policy) for case in cases]
    names = ("sign", "mcid", "mdc", "sem", "goal", "best_possible")
    return {name: _row(getattr(mark, name) for mark in marks) for name in names}


def _tracks(readings: Readings) -> dict[str, Floats]:
    """Return what happened over time, padded to the longest course."""
    cases = readings.episodes
    tables: dict[tuple[str, ...], tuple[dict[int, list[Any]], Any]] = {
        ("look_day", "look_score"): (readings.looks, _look_columns),
        ("pain_day", "pain_worst"): (readings.pain, _pain_columns),
        ("attended_day", "pain_during", "flare"): (
            readings.visits,
            _attended_columns,
        ),
        ("groc_day", "groc_value"): (readings.ratings, _look_columns),
    }
    tracks: dict[str, Floats] = {}
    for names, (groups, columns) in tables.items():
        table = _table(cases, groups, columns, width=len(names))
        tracks.update(zip(names, table, strict=True))
    return tracks


def weeks(case: Episode, policy: StallPolicy) -> tuple[int, ...]:
    """Return the weeks of re-measure: the case's own, or the site's."""
    return tuple(case.schedule_weeks) or policy.schedule_weeks


def planned_on(readings: Readings, episode_id: int) -> date | None:
    """Return the next visit as planned at the latest visit."""
    visits = readings.visits.get(episode_id)
    return visits[-1].next_planned_on if visits else None


def _look_columns(look: Look) -> tuple[float, ...]:
    return look.assessed_on.toordinal(), look.score


def _pain_columns(pain: Pain) -> tuple[float, ...]:
    return pain.rated_on.toordinal(), pain.worst


def _attended_columns(seen: Seen) -> tuple[float, ...] | None:
    if seen.attendance != Visit.Attendance.ATTENDED:
        return None
    during = NAN if seen.pain_during is None else seen.pain_during
    flare = float(seen.next_morning == NextMorning.FLARE) if seen.next_morning else NAN
    return seen.visited_on.toordinal(), during, flare


def _table(
    cases: Sequence[Episode], groups: dict[int, list[Any]], columns: Any, *, width: int
) -> tuple[Floats, ...]:
    rows = [
        [entry for item in groups.get(case.pk, ()) if (entry := columns(item))]
        for case in cases
    ]
    return _padded(rows, width=width)


def _padded(
    rows: Sequence[Sequence[Sequence[float]]], *, width: int
) -> tuple[Floats, ...]:
    """Return one nan-padded (cases, longest) array per column of the entries."""
    lengths = np.array([len(row) for row in rows], dtype=np.int64)
    table = np.full((width, len(rows), int(lengths.max(initial=0))), NAN)
    flat = np.array([entry for row in rows for entry in row], dtype=np.float64)
    if flat.size:
        case = np.repeat(np.arange(len(rows)), lengths)
        first = np.cumsum(lengths) - lengths
        place = np.arange(len(flat)) - np.repeat(first, lengths)
        table[:, case, place] = flat.T
    return tuple(table)


def _days(values: Iterable[date | None]) -> Floats:
    return np.array(
        [NAN if day is None else day.toordinal() for day in values], dtype=np.float64
    )


def _row(values: Iterable[float | None]) -> Floats:
    return np.array(list(values), dtype=np.float64)
