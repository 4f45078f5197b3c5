"""What has been tried in a stalled case, and which options of the guideline were not.

What happened to pain and function meanwhile is described, never claimed as an effect.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from clinic.models import Episode
from clinic.templatetags.clinic_format import score
from programs.adherence import adherence
from programs.course import Course, read_course
from programs.dose_words import dose_words
from programs.guideline import GuidelineOption, untried
from programs.lines import key_of, line_of
from programs.models import Prescription

from .caseload import ASK_FULL_SCREEN, CaseRow
from .models import Assessment, PainScore
from .science.measures import measure

Points = Sequence[tuple[date, float]]


@dataclass(frozen=True, slots=True)
class Tried:
    """One exercise or adjunct of the case, over all lines that prescribed it."""

    name: str
    from_on: date
    until_on: date
    is_running: bool
    doses: tuple[str, ...]
    adherence: str
    meanwhile: str


@dataclass(frozen=True, slots=True)
class WhatWasTried:
    """All that ran, and the options that did not."""

    tried: tuple[Tried, ...]
    untried: tuple[GuidelineOption, ...]


def is_stalled(row: CaseRow) -> bool:
    """Tell whether a progress finding stands, resting or not."""
    findings = (*row.findings, *row.resting)
    return any(finding.rule.key in ASK_FULL_SCREEN for finding in findings)


def read_tried(episode: Episode, *, on: date) -> WhatWasTried:
    """Read what was tried in a case; a fixed number of queries."""
    assessments = Assessment.objects.standing().of_episode(episode).in_order()
    pain = PainScore.objects.standing().filter(episode=episode).order_by("rated_on")
    return what_was_tried(
        episode, read_course(episode), list(assessments), list(pain), on=on
    )


def what_was_tried(
    episode: Episode,
    course: Course,
    assessments: Sequence[Assessment],
    pain: Sequence[PainScore],
    *,
    on: date,
) -> WhatWasTried:
    """Describe each exercise of a case in the order of its first day."""
    primary = episode.primary_measure
    scores = [
        (row.assessed_on, row.score)
        for row in assessments
        if row.measure == primary and row.score is not None
    ]
    worst = [(row.rated_on, float(row.worst)) for row in pain if row.worst is not None]
    courses = {measure(primary).short_name: scores, "worst pain": worst}
    grouped: dict[str, list[Prescription]] = {}
    for line in course.lines:
        if line.starts_on and line.starts_on <= on:
            grouped.setdefault(key_of(line_of(line)), []).append(line)
    return WhatWasTried(
        tuple(_tried(lines, course, courses, on=on) for lines in grouped.values()),
        untried(line.exercise for line in course.lines),
    )


def _tried(
    lines: list[Prescription],
    course: Course,
    courses: Mapping[str, Points],
    *,
    on: date,
) -> Tried:
    begun = [line.starts_on for line in lines if line.starts_on]
    over = [line.stops_on or on for line in lines]
    is_running = any(line.stops_on is None or line.stops_on > on for line in lines)
    from_on, until_on = min(begun), on if is_running else max(over)
    doses = dict.fromkeys(dose_words(line_of(line)) for line in lines)
    return Tried(
        name=line_of(lines[0]).name,
        from_on=from_on,
        until_on=until_on,
        is_running=is_running,
        doses=tuple(dose for dose in doses if dose),
        adherence=adherence(lines, course.logs, until_on=until_on).words,
        meanwhile=", ".join(
            _meanwhile(name, points, from_on, until_on)
            for name, points in courses.items()
        ),
    )


def _meanwhile(name: str, points: Points, from_on: date, until_on: date) -> str:
    """Describe a course from the last score before to the last one within."""
    before = [value for on, value in points if on <= from_on]
    within = [value for on, value in points if from_on < on <= until_on]
    first = before[-1:] or within[:1]
    last = within[-1:]
    if not first or not last or (not before and len(within) < 2):
        known = first or last
        return f"{name} {score(known[0])} only" if known else f"{name} not recorded"
    return f"{name} {score(first[0])} to {score(last[0])}"
