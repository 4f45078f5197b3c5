"""The programme under the course of scores: phases, changes, other care, events.

The figure says when; the table beside it holds the same facts with their reasons.
Nothing here claims that the one moved the other.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import TYPE_CHECKING

from clinic.models import Episode
from clinic.templatetags.clinic_format import day
from programs.course import Course
from programs.dose_words import dose_words
from programs.lines import line_of
from programs.models import AdverseEvent, OtherCare, Phase, Prescription

from .panels import Chart

if TYPE_CHECKING:
    from .science.programme_chart import Lane, Mark

DESCRIBED = (
    "Drawn on the same time axis as the scores. It shows what ran when; it does not "
    "say what moved a score."
)


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing that happened to a programme or beside it."""

    on: date
    what: str
    words: str
    phase_id: int | None = None
    is_change: bool = False


@dataclass(frozen=True, slots=True)
class Beside:
    """What stood beside the programme, as it was recorded."""

    other_care: tuple[OtherCare, ...]
    events: tuple[AdverseEvent, ...]


@dataclass(frozen=True, slots=True)
class ProgrammePanel:
    """The figure with its table, and how tall it has to be."""

    chart: Chart
    lanes: int

    @property
    def height(self) -> str:
        """The class that makes it as tall as its lanes need."""
        if self.lanes <= 2:
            return "is-short is-low"
        return "is-short" if self.lanes <= 4 else ""


def read_beside(episode: Episode) -> Beside:
    """Read other care and adverse events of a case; two queries."""
    care = OtherCare.objects.standing().filter(episode=episode)
    events = AdverseEvent.objects.standing().filter(episode=episode)
    return Beside(
        tuple(care.order_by("began_on", "pk")),
        tuple(events.order_by("happened_on", "pk")),
    )


def programme_panel(
    course: Course, beside: Beside, *, span: tuple[date, date], until_on: date
) -> ProgrammePanel | None:
    """Return the panel; None where there is neither a programme nor anything beside."""
    from .science.programme_chart import programme_figure

    changes = sorted(_line_facts(course), key=lambda fact: fact.on)
    lanes = [
        *_phase_lanes(course, changes, until_on),
        *_care_lanes(beside, until_on),
        *_event_lanes(beside),
    ]
    if not lanes:
        return None
    facts = [*_phase_facts(course), *changes, *_choice_facts(course)]
    facts = sorted([*facts, *_beside_facts(beside)], key=lambda fact: fact.on)
    chart = Chart(
        id="chart-programme",
        title="Programme",
        direction="",
        json=programme_figure(lanes, span=span),
        table_head=("Day", "What", "In words"),
        table_rows=[(day(fact.on), fact.what, fact.words) for fact in facts],
        notes=(DESCRIBED,),
    )
    return ProgrammePanel(chart, len(lanes))


# Facts


def _begun(course: Course) -> Iterator[Phase]:
    return (phase for phase in course.phases if phase.starts_on)


def _phase_facts(course: Course) -> Iterator[Fact]:
    for programme in course.programmes:
        if programme.ended_on:
            yield Fact(
                programme.ended_on,
                "Programme ended",
                f"{programme.title}. {programme.why_ended}".strip(),
            )
    for phase in _begun(course):
        assert phase.starts_on  # noqa: S101 (for the type checker)
        words = f"{phase.programme.title}. {phase.aim}".strip()
        yield Fact(phase.starts_on, f"Phase begins: {phase.title}", words)
        if phase.ends_on and not phase.programme.ended_on:
            yield Fact(phase.ends_on, f"Phase ends: {phase.title}", "")


def _line_facts(course: Course) -> Iterator[Fact]:
    """Yield how lines began, changed and stopped."""
    replaced = {line.replaces_id for line in course.lines}
    for line in course.lines:
        before, now = course.before(line), line_of(line)
        if line.starts_on is None:
            continue
        if before is None:
            is_later = bool(
                line.phase.starts_on and line.starts_on > line.phase.starts_on
            )
            words = dose_words(now)
            yield Fact(
                line.starts_on, f"{now.name} begins", words, line.phase_id, is_later
            )
        else:
            what, words = _change_words(before, line)
            yield Fact(line.starts_on, what, words, line.phase_id, is_change=True)
        if line.stops_on and line.pk not in replaced and _was_stopped_early(line):
            what, why = f"{now.name} stopped", line.why_stopped
            yield Fact(line.stops_on, what, why, line.phase_id, is_change=True)


def _was_stopped_early(line: Prescription) -> bool:
    """Tell whether a line stopped by itself, not with its whole programme."""
    return line.stops_on != line.phase.programme.ended_on


def _change_words(before: Prescription, now: Prescription) -> tuple[str, str]:
    old, new = line_of(before), line_of(now)
    why = f" Why: {now.why}" if now.why else ""
    if old.name != new.name:
        return f"{old.name} becomes {new.name}", f"{dose_words(new)}.{why}"
    return (
        f"{new.name} changed",
        f"{dose_words(old)}; now {dose_words(new)}.{why}",
    )


def _choice_facts(course: Course) -> Iterator[Fact]:
    for pk, choices in course.choices.items():
        line = course.by_pk.get(pk)
        for choice in choices if line else ():
            name = line_of(line).name if line else ""
            said = f" {choice.words}" if choice.words else ""
            yield Fact(
                choice.suggested_on,
                f"Suggestion {choice.get_choice_display().lower()}: {name}",
                f"{choice.sentence}{said}",
            )


def _beside_facts(beside: Beside) -> Iterator[Fact]:
    for care in beside.other_care:
        until = f" Until {day(care.ended_on)}." if care.ended_on else ""
        yield Fact(care.began_on, care.get_what_display(), f"{care.words}{until}")
    for event in beside.events:
        yield Fact(event.happened_on, "Adverse event", f"{event.what} {event.done}")


# Lanes


def _phase_lanes(
    course: Course, changes: Sequence[Fact], until_on: date
) -> Iterator[Lane]:
    from .science.programme_chart import Bar, Lane

    marks = _marks_by_phase(changes)
    for phase in _begun(course):
        if phase.starts_on is None or phase.starts_on > until_on:
            continue
        ended_on = phase.ends_on or phase.programme.ended_on
        last_on = max(min(ended_on or until_on, until_on), phase.starts_on)
        words = f"{phase.title}, {day(phase.starts_on)} to {day(last_on)}"
        yield Lane(
            kind="Phase, ended" if ended_on else "Phase, running",
            role="bar-third" if ended_on else "bar",
            words=phase.title,
            bars=(Bar(phase.starts_on, last_on, words),),
            marks=marks.get(phase.pk, ()),
            mark_kind="A line changed",
        )


def _marks_by_phase(changes: Iterable[Fact]) -> dict[int, tuple[Mark, ...]]:
    """Return one mark a day and phase, with everything that changed on it."""
    from .science.programme_chart import Mark

    found: dict[int, list[Mark]] = defaultdict(list)
    rows = [(fact.phase_id, fact.on, fact.what) for fact in changes if fact.is_change]
    rows = sorted(rows, key=lambda row: (row[0] or 0, row[1]))
    for (phase_id, on), same in groupby(rows, key=lambda row: (row[0], row[1])):
        words = "; ".join(what for _, _, what in same)
        found[phase_id or 0].append(Mark(on, words))
    return {pk: tuple(marks) for pk, marks in found.items()}


def _care_lanes(beside: Beside, until_on: date) -> Iterator[Lane]:
    from .science.programme_chart import Bar, Lane, Mark

    for care in beside.other_care:
        words = f"{care.get_what_display()}: {care.words}"
        last_on = max(min(care.ended_on or care.began_on, until_on), care.began_on)
        is_long = last_on > care.began_on
        yield Lane(
            kind="Other care",
            role="bar-other",
            words=words,
            bars=(Bar(care.began_on, last_on, words),) if is_long else (),
            marks=() if is_long else (Mark(care.began_on, words),),
            symbol="square",
        )


def _event_lanes(beside: Beside) -> Iterator[Lane]:
    from .science.programme_chart import Lane, Mark

    for event in beside.events:
        yield Lane(
            kind="Adverse event",
            role="event",
            words=f"Adverse event: {event.what}",
            marks=(Mark(event.happened_on, event.what),),
            symbol="x",
        )
