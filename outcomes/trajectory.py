"""Read model of one case: its course, visits and decisions, ready to be shown."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from clinic.models import ContactAttempt, Cover, Episode, Screen, Visit
from clinic.screening import Concern, positives

from .agreeing import beside_findings
from .caseload import CaseRow, judge, read_case
from .models import Activity, Assessment, CaseReview, PainScore, PhysicalResult
from .panels import Panel, measure_panels, pain_panel
from .physical_course import results_of
from .physical_panels import PhysicalPanel, physical_panels
from .science.mcid import Reading, reading_of_groc
from .science.measures import measure
from .science.policy import StallPolicy
from .treatment import (
    Done,
    Treatment,
    marked_days,
    read_done,
    told_by_visit,
    treatment_of,
)


@dataclass(frozen=True, slots=True)
class VisitLine:
    """One visit as a line of the case page."""

    visit: Visit
    pain: PainScore | None
    assessments: tuple[Assessment, ...]
    done: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ScreenLine:
    """One answered red-flag screen with its positive answers."""

    screen: Screen
    concerns: tuple[Concern, ...]

    @property
    def is_undecided(self) -> bool:
        """Whether a positive answer still waits for the clinician's decision."""
        return self.screen.is_positive and self.screen.decided_at is None

    @property
    def is_routine(self) -> bool:
        """Whether it is a visit's short screen that found nothing."""
        return self.screen.form == Screen.Form.SHORT and not self.screen.is_positive


@dataclass(frozen=True, slots=True)
class CasePage:
    """Everything that the case page shows."""

    row: CaseRow
    panels: list[Panel]
    pain: Panel | None
    tests: list[PhysicalPanel]
    treatment: Treatment
    rating: Reading | None
    rating_on: date | None
    visits: list[VisitLine]
    unscored: list[Assessment]
    screens: list[ScreenLine]
    routine_screens: int
    reviews: list[CaseReview]
    contacts: list[ContactAttempt]
    covers: list[Cover]

    @property
    def has_full_screen(self) -> bool:
        """Whether the full red-flag screen was ever asked in this case."""
        return any(line.screen.form == Screen.Form.FULL for line in self.screens)


def read_page(episode: Episode, *, policy: StallPolicy, on: date) -> CasePage:
    """Read one case for its page; a fixed number of queries."""
    row = read_case(episode, policy=policy, on=on)
    assessments, pain = _measured(episode)
    reviews = list(episode.reviews.newest_first().select_related("by"))
    tests = results_of(episode)
    span = _span(episode, assessments, pain, tests, on)
    rating = _latest_rating(assessments)
    screens = _screen_lines(episode)
    done = read_done(episode)
    row, panels = _told(row, assessments, marked_days(reviews, done), policy, span)
    return CasePage(
        row=row,
        panels=panels,
        pain=pain_panel(episode, pain, policy=policy, span=span),
        tests=physical_panels(episode, tests, span=span),
        treatment=treatment_of(row, done, assessments, pain, reviews, span=span, on=on),
        rating=_reading(rating, policy),
        rating_on=rating.assessed_on if rating else None,
        visits=_visit_lines(episode, pain, assessments, done),
        unscored=_without_panel(assessments, panels),
        screens=[line for line in screens if not line.is_routine],
        routine_screens=sum(line.is_routine for line in screens),
        reviews=reviews,
        contacts=list(episode.contacts.select_related("by").order_by("-tried_on")),
        covers=list(episode.covers.active(on).select_related("covered_by")),
    )


def _measured(episode: Episode) -> tuple[list[Assessment], list[PainScore]]:
    """Return all that was measured in the episode, oldest first; two queries."""
    assessments = Assessment.objects.standing().of_episode(episode).in_order()
    pain = PainScore.objects.standing().filter(episode=episode).order_by("rated_on")
    return list(assessments), list(pain)


def _told(
    row: CaseRow,
    assessments: Sequence[Assessment],
    marks: Sequence[tuple[date, str]],
    policy: StallPolicy,
    span: tuple[date, date],
) -> tuple[CaseRow, list[Panel]]:
    """Return the case with what only its own page knows, and its panels."""
    words = _activities(row.episode, assessments)
    panels = measure_panels(
        row.episode, assessments, marks, policy=policy, span=span, words=words
    )
    return beside_findings(_named(row, policy, words), panels), panels


def _activities(episode: Episode, assessments: Sequence[Assessment]) -> dict[str, str]:
    """Return the patient's words for each activity rated, by number."""
    if not any(measure(row.measure).has_own_items for row in assessments):
        return {}
    named = Activity.objects.filter(patient=episode.patient_id)
    return {str(activity.number): activity.words for activity in named}


def _named(row: CaseRow, policy: StallPolicy, words: Mapping[str, str]) -> CaseRow:
    """Return the case with its activities named in the notes of the verdict."""
    if not (words and row.about.has_own_items and row.baseline and row.latest):
        return row
    if row.change is None:
        return row
    both = [row.baseline, row.latest]
    change = judge(row.about, both, case=row.episode, policy=policy, words=words)
    return replace(row, change=change)


def _without_panel(
    assessments: Sequence[Assessment], panels: Sequence[Panel]
) -> list[Assessment]:
    """Return the forms without a score whose measure has no panel to stand under."""
    shown = {panel.about.key for panel in panels}
    return [a for a in assessments if a.score is None and a.measure not in shown]


def _latest_rating(assessments: Sequence[Assessment]) -> Assessment | None:
    ratings = [a for a in assessments if a.measure == "groc" and a.score is not None]
    return ratings[-1] if ratings else None


def _reading(rating: Assessment | None, policy: StallPolicy) -> Reading | None:
    if rating is None:
        return None
    return reading_of_groc(int(rating.score or 0), at_least=policy.groc_agrees)


def _span(
    episode: Episode,
    assessments: Sequence[Assessment],
    pain: Sequence[PainScore],
    tests: Sequence[PhysicalResult],
    on: date,
) -> tuple[date, date]:
    """Return the days that the time axis covers, with a little air on both sides."""
    days = [episode.opened_on, episode.discharged_on or on]
    days += [a.assessed_on for a in assessments]
    days += [p.rated_on for p in pain]
    days += [t.tested_on for t in tests]
    air = timedelta(days=3)
    return min(days) - air, max(days) + air


def _visit_lines(
    episode: Episode,
    pain: Sequence[PainScore],
    assessments: Sequence[Assessment],
    done: Done,
) -> list[VisitLine]:
    by_visit = {row.visit_id: row for row in pain}
    told = told_by_visit(done.course)
    visits = (
        Visit.objects.standing()
        .filter(episode=episode)
        .select_related("clinician", "response")
        .order_by("-visited_on")
    )
    return [
        VisitLine(
            visit,
            by_visit.get(visit.pk),
            tuple(a for a in assessments if a.visit_id == visit.pk),
            told.get(visit.pk, ()),
        )
        for visit in visits
    ]


def _screen_lines(episode: Episode) -> list[ScreenLine]:
    screens = (
        Screen.objects.standing()
        .filter(episode=episode)
        .select_related("answered_by", "decided_by")
        .order_by("-answered_on", "-pk")
    )
    return [ScreenLine(screen, positives(screen.answers)) for screen in screens]
