"""What a letter to the referrer says of care: what was done, safety, the plan."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from clinic.models import Visit
from clinic.screening import positives
from clinic.templatetags.clinic_format import lower_first, plural
from programs.course import Course
from programs.models import Phase, Prescription, Programme

from ..science.verdicts import day
from .record import LetterRecord
from .words import ended, names_of, stopped

NOT_RULED_OUT = "An answer of no does not rule a cause out."
NOT_ALONE = "The course above cannot be put down to the programme alone."


def done_told(record: LetterRecord) -> Iterator[str]:
    """Say who came, what the programmes held, and what stood beside them."""
    yield attendance(record)
    if not record.course.programmes:
        yield "There is no programme on record."
    for programme in record.course.programmes:
        yield "\n".join(_programme(programme, record.course, on=record.on))
    if record.other_care:
        yield "\n".join(("Besides the programme:", *_other_care(record), NOT_ALONE))


def attendance(record: LetterRecord) -> str:
    """Return how many visits were attended, and how many were not."""
    if not record.visits:
        return "There is no visit on record."
    kinds = Visit.Attendance
    count = {
        kind: sum(visit.attendance == kind for visit in record.visits) for kind in kinds
    }
    said = [f"{plural(count[kinds.ATTENDED], 'visit')} attended"]
    if record.attended:
        first, last = record.attended[0].visited_on, record.attended[-1].visited_on
        span = f"{day(first)} to {day(last)}" if first != last else day(first)
        said[0] += f" ({span})"
    if count[kinds.DID_NOT_ATTEND]:
        said.append(f"{count[kinds.DID_NOT_ATTEND]} missed")
    if count[kinds.CANCELLED]:
        said.append(f"{count[kinds.CANCELLED]} cancelled")
    return f"{', '.join(said)}."


def _programme(programme: Programme, course: Course, *, on: date) -> Iterator[str]:
    began = programme.starts_on
    span = f", from {day(began)}" if began else ""
    if programme.ended_on:
        span += f" to {day(programme.ended_on)}"
    yield f"Programme “{programme.title}”{span}:"
    of_it = [each for each in course.phases if each.programme_id == programme.pk]
    for phase in sorted(of_it, key=lambda each: each.number):
        yield _phase(phase, begun(course, phase, on=on))


def _phase(phase: Phase, lines: Sequence[Prescription]) -> str:
    names = "; ".join(names_of(lines)) or "not begun"
    return f"Phase {phase.number}, {phase.title}: {names}."


def begun(
    course: Course, phase: Phase | None = None, *, on: date
) -> list[Prescription]:
    """Return the lines that have begun by a day, of one phase or of all."""
    return [
        line
        for line in course.lines
        if line.starts_on and line.starts_on <= on
        if phase is None or line.phase_id == phase.pk
    ]


def _other_care(record: LetterRecord) -> Iterator[str]:
    for care in record.other_care:
        until = f" to {day(care.ended_on)}" if care.ended_on else ""
        when = f"from {day(care.began_on)}{until}"
        yield f"{care.get_what_display()}, {when}: {stopped(care.words)}"


def safety_told(record: LetterRecord) -> Iterator[str]:
    """Say what the red-flag questions found, and what went wrong."""
    if not record.screens:
        yield "No red-flag questions are on record."
    else:
        yield "\n".join(_screens(record))
    if not record.events:
        yield "No adverse event is on record."
    for event in record.events:
        what, done = stopped(event.what), stopped(event.done)
        yield f"Adverse event on {day(event.happened_on)}: {what} Done about it: {done}"


def _screens(record: LetterRecord) -> Iterator[str]:
    days = [screen.answered_on for screen in record.screens]
    first, last = day(days[0]), day(days[-1])
    positive = [screen for screen in record.screens if screen.is_positive]
    found = "" if positive else " Nothing positive."
    if len(days) == 1:
        yield f"Red-flag questions were asked on {first}.{found} {NOT_RULED_OUT}"
    else:
        times = f"{len(days)} times, from {first} to {last}"
        yield f"Red-flag questions were asked {times}.{found} {NOT_RULED_OUT}"
    for screen in positive:
        asked = "; ".join(concern.ask for concern in positives(screen.answers))
        decision = screen.decision.strip()
        told = f"Decision: {stopped(decision)}" if decision else "No decision yet."
        yield f"Answered yes on {day(screen.answered_on)}: {asked}. {told}"


def plan_told(record: LetterRecord) -> Iterator[str]:
    """Say what runs, what was decided, and when the next visit is."""
    case, on = record.episode, record.on
    if not case.is_open:
        yield ended(case)
        return
    if running := names_of(record.course.running(on)):
        yield f"In the programme now: {'; '.join(running)}."
    if review := record.review:
        decided = lower_first(review.get_decision_display())
        yield f"Decided on {day(review.reviewed_on)}: {decided}. {stopped(review.why)}"
        if review.look_again_on >= on:
            yield f"The case is looked at again on {day(review.look_again_on)}."
    if record.next_visit_on:
        yield f"The next visit is planned for {day(record.next_visit_on)}."
