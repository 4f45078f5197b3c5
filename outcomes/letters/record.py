"""Read model of what a letter is drafted from: one case as it stands on record."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from clinic.models import Episode, Screen, Visit
from clinic.screening import age_on, asked_always
from programs.course import Course, read_course
from programs.models import AdverseEvent, OtherCare

from ..caseload import judge
from ..models import Activity, Assessment, CaseReview, PainScore
from ..panels import as_point, pain_change
from ..policies import policy_for
from ..science.mcid import Change, Point, Reading, reading_of_groc
from ..science.measures import Measure, measure

Ratings = tuple[tuple[date, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LetterRecord:
    """What the record holds on a day; nothing that was voided."""

    episode: Episode
    on: date
    about: Measure
    points: tuple[Point, ...]
    unscored: tuple[Assessment, ...]
    change: Change | None
    worst: Ratings
    pain: Change | None
    rating: Reading | None
    rating_on: date | None
    visits: tuple[Visit, ...]
    screens: tuple[Screen, ...]
    course: Course
    other_care: tuple[OtherCare, ...]
    events: tuple[AdverseEvent, ...]
    review: CaseReview | None

    @property
    def scores(self) -> Ratings:
        """The scores of the primary measure by day."""
        return tuple((point.on, point.value) for point in self.points)

    @property
    def attended(self) -> tuple[Visit, ...]:
        """The visits to which the patient came."""
        return tuple(visit for visit in self.visits if visit.was_attended)

    @property
    def next_visit_on(self) -> date | None:
        """The day that the latest visit planned, unless it is past."""
        planned = self.visits[-1].next_planned_on if self.visits else None
        return planned if planned and planned >= self.on else None

    @property
    def is_young(self) -> bool:
        """Whether the patient is of an age at which the hip is always asked about."""
        return bool(asked_always(age=age_on(self.episode.patient.birth_date, self.on)))


def read_record(episode: Episode, *, on: date) -> LetterRecord:
    """Read a case for a letter; a fixed number of queries."""
    policy = policy_for(episode.site)
    rows = list(Assessment.objects.standing().of_episode(episode).in_order())
    primary = [row for row in rows if row.measure == episode.primary_measure]
    about = measure(episode.primary_measure)
    points = [as_point(row) for row in primary if row.score is not None]
    ratings = [row for row in rows if row.measure == "groc" and row.score is not None]
    worst = _worst(episode)
    return LetterRecord(
        episode=episode,
        on=on,
        about=about,
        points=tuple(points),
        unscored=tuple(row for row in primary if row.score is None),
        change=judge(
            about, points, case=episode, policy=policy, words=_words(episode, about)
        ),
        worst=worst,
        pain=pain_change(worst, episode, policy),
        rating=_reading(ratings, at_least=policy.groc_agrees),
        rating_on=ratings[-1].assessed_on if ratings else None,
        course=read_course(episode),
        review=episode.reviews.newest_first().first(),
        **_beside(episode),
    )


def _beside(episode: Episode) -> dict[str, Any]:
    """Return visits, screens, other care and adverse events, oldest first."""
    screens = Screen.objects.standing().filter(episode=episode)
    return {
        "visits": tuple(episode.visits.standing().order_by("visited_on")),
        "screens": tuple(screens.order_by("answered_on", "pk")),
        "other_care": tuple(episode.other_care.standing().order_by("began_on", "pk")),
        "events": tuple(
            episode.adverse_events.standing().order_by("happened_on", "pk")
        ),
    }


def _worst(episode: Episode) -> Ratings:
    rows = PainScore.objects.standing().filter(episode=episode, worst__isnull=False)
    return tuple(
        (row.rated_on, float(row.worst or 0)) for row in rows.order_by("rated_on")
    )


def _words(episode: Episode, about: Measure) -> dict[str, str]:
    """Return the patient's words for each activity, where they name their own."""
    if not about.has_own_items:
        return {}
    named = Activity.objects.filter(patient=episode.patient_id)
    return {str(activity.number): activity.words for activity in named}


def _reading(ratings: Sequence[Assessment], *, at_least: float) -> Reading | None:
    if not ratings:
        return None
    return reading_of_groc(int(ratings[-1].score or 0), at_least=at_least)
