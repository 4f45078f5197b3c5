"""What the case page shows of the programme: when it ran, what is next, what ran."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from clinic.models import Episode
from clinic.templatetags.clinic_format import plural
from programs.course import Course, read_course
from programs.lines import line_of
from programs.models import SessionLog
from programs.next_steps import read_advice
from programs.suggesting import Advice

from .caseload import CaseRow
from .models import Assessment, CaseReview, PainScore
from .programme_panel import Beside, ProgrammePanel, programme_panel, read_beside
from .time_limits import overdue_adjuncts
from .tried import WhatWasTried, is_stalled, what_was_tried

OVER_WORDS = {
    -1: "fewer repetitions than asked",
    0: "the repetitions asked",
    1: "1 repetition over",
    2: "2 or more over",
}


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


def told_by_visit(course: Course) -> dict[int, tuple[str, ...]]:
    """Return what was told of each line at a visit, in words, by visit."""
    found: dict[int, list[str]] = defaultdict(list)
    for line in course.lines:
        for log in course.logs.get(line.pk, ()):
            found[log.visit_id].append(f"{line_of(line).name}: {told_words(log)}")
    return {pk: tuple(words) for pk, words in found.items()}


def told_words(log: SessionLog) -> str:
    """Return "5 sessions, 3 sets, pain 1"; what was not told is left out."""
    parts = []
    if log.sessions_done is not None:
        parts.append(plural(log.sessions_done, "session"))
    if log.sets_done is not None:
        parts.append(f"{plural(log.sets_done, 'set')} in the last")
    if log.repetitions_over is not None:
        parts.append(OVER_WORDS[log.repetitions_over])
    if log.pain_during is not None:
        parts.append(f"pain {log.pain_during}")
    if log.is_stopped_by_pain:
        parts.append("a set stopped by pain")
    return ", ".join(parts)


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
