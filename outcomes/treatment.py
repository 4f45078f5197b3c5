"""What the case page shows of the programme: when it ran, what is next, what ran."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from clinic.models import Episode
from programs.course import Course, read_course
from programs.next_steps import read_advice
from programs.suggesting import Advice

from .caseload import CaseRow
from .models import Assessment, CaseReview, PainScore
from .programme_panel import Beside, ProgrammePanel, programme_panel, read_beside
from .time_limits import overdue_adjuncts
from .tried import WhatWasTried, is_stalled, what_was_tried


@dataclass(frozen=True, slots=True)
class Treatment:
    """The programme of a case as it stands."""

    panel: ProgrammePanel | None
    advice: Advice | None
    tried: WhatWasTried | None
    overdue: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Done:
    """What was done in a case, as it was read: seven queries."""

    course: Course
    beside: Beside


def read_done(episode: Episode) -> Done:
    """Read the programmes of a case and what stood beside them."""
    return Done(read_course(episode), read_beside(episode))


def marked_days(reviews: Sequence[CaseReview], done: Done) -> list[tuple[date, str]]:
    """Return the days of decisions and of other care, for the panels of measures."""
    marks = [(each.reviewed_on, each.get_decision_display()) for each in reviews]
    marks += [
        (care.began_on, f"{care.get_what_display()}: {care.words}")
        for care in done.beside.other_care
    ]
    return sorted(marks)


def treatment_of(
    row: CaseRow,
    done: Done,
    assessments: Sequence[Assessment],
    pain: Sequence[PainScore],
    reviews: Sequence[CaseReview],
    *,
    span: tuple[date, date],
    on: date,
) -> Treatment:
    """Return what the page shows of the programme; what was tried only when stalled."""
    episode, course = row.episode, done.course
    until_on = episode.discharged_on or on
    tried = None
    if is_stalled(row):
        tried = what_was_tried(episode, course, assessments, pain, on=until_on)
    return Treatment(
        panel=programme_panel(course, done.beside, span=span, until_on=until_on),
        advice=read_advice(episode, on=on, course=course),
        tried=tried,
        overdue=tuple(overdue_adjuncts(course, reviews, on=on)),
    )
