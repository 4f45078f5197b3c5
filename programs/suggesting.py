"""The next step of each running line: from what was logged to one suggestion.

Only sessions of the line itself count, since a change of dose makes a new line.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from urllib.parse import urlencode

from clinic.models import Episode
from clinic.submissions import new_form_key

from . import library
from .adherence import prescribed_sets
from .course import Course
from .dose_words import dose_words
from .dosing.limits import DosingPolicy
from .dosing.loading import Irritability, Muscle, Plates
from .dosing.next_step import Change, Dose, Rung
from .dosing.response import Gates, NextMorning, Session, Suggestion, suggest
from .dosing.response_rules import Kind
from .gates import dosing_for, gates_for
from .library_entries import Exercise
from .library_entries import Kind as EntryKind
from .lines import Line, line_of
from .models import Prescription, SessionLog, SuggestionChoice
from .proposals import proposed

# Which targets are large muscle groups (project assumption); all others take the
# smaller step, which is the careful one.
LARGE_TARGETS = ("quadriceps", "hip extensors")
TRAINED = (EntryKind.EXERCISE, EntryKind.RUNNING)
# Gates that close for every line alike are said once.
FOR_ALL = ("advice_off", "red_flag_undecided")
NOT_LOGGED = "no_session"
COUNTED = ("repetitions", "hold_seconds", "minutes", "scheme")


@dataclass(frozen=True, slots=True)
class NextStep:
    """The suggestion for one line, and what became of it."""

    prescription: Prescription
    line: Line
    suggestion: Suggestion
    changed: Line | None
    last_on: date | None
    earlier: SuggestionChoice | None
    on: date
    form_key: str = field(default_factory=new_form_key)

    @property
    def words(self) -> str:
        """The present dose in words."""
        return dose_words(self.line)

    @property
    def token(self) -> str:
        """A short print of what is suggested: an answer names the one it saw."""
        change = self.suggestion.change
        parts = (
            self.prescription.pk,
            self.suggestion.kind,
            self.suggestion.rule,
            self.suggestion.sentence,
            change.sentence if change else "",
        )
        return hashlib.sha256(repr(parts).encode()).hexdigest()[:16]

    @property
    def is_advice(self) -> bool:
        """Whether something is suggested at all."""
        return self.suggestion.kind is not Kind.NO_ADVICE

    @property
    def answer(self) -> SuggestionChoice | None:
        """The answer to this very suggestion, until a later session asks anew."""
        found = self.earlier
        if not found or found.rule != self.suggestion.rule:
            return None
        is_later = self.last_on is not None and self.last_on > found.suggested_on
        return None if is_later else found

    @property
    def is_asked(self) -> bool:
        """Whether it can be answered: a line is answered for once a day."""
        was_today = self.earlier is not None and self.earlier.suggested_on == self.on
        return self.is_advice and self.answer is None and not was_today

    @property
    def can_accept(self) -> bool:
        """Whether one tap can take it: to hold, or an exact change of one thing."""
        return self.suggestion.kind is Kind.HOLD or self.changed is not None

    @property
    def edit_query(self) -> str:
        """The end of the address of the change form, filled in as suggested."""
        asked = {"suggestion": self.token}
        change = self.suggestion.change
        if change and change.rung:
            asked["exercise"] = change.rung.key
        return urlencode(asked)

    @property
    def sentence(self) -> str:
        """The reason with the one change, as it is kept."""
        change = self.suggestion.change
        return f"{self.suggestion.sentence} {change.sentence if change else ''}".strip()


@dataclass(frozen=True, slots=True)
class Advice:
    """What is suggested for a programme, or why nothing is."""

    steps: tuple[NextStep, ...]
    refusal: str
    unlogged: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """What the suggestions of one case share."""

    course: Course
    episode: Episode
    on: date
    usual: Mapping[int, float]
    policy: DosingPolicy
    gates: Mapping[bool, Gates]


def advise(
    course: Course, *, episode: Episode, on: date, usual: Mapping[int, float]
) -> Advice | None:
    """Return the next steps of the running lines; None without such a line.

    `usual` is usual pain of the last week by visit. A fixed number of queries.
    """
    lines = {
        one: line_of(one) for one in course.running(on) if is_trained(line_of(one))
    }
    if not lines or not episode.is_open:
        return None
    uses = {line.is_flow_restricted for line in lines.values()}
    asked = _Asked(
        course=course,
        episode=episode,
        on=on,
        usual=usual,
        policy=dosing_for(episode.site),
        gates={
            each: gates_for(episode, on=on, is_flow_restricted=each) for each in uses
        },
    )
    return _sorted([_step(one, line, asked) for one, line in lines.items()])


def _sorted(steps: list[NextStep]) -> Advice:
    """Say a gate that shuts for every line once, and name lines without a session."""
    shut = next((s for s in steps if s.suggestion.rule in FOR_ALL), None)
    if shut:
        return Advice((), shut.suggestion.sentence, ())
    return Advice(
        tuple(s for s in steps if s.suggestion.rule != NOT_LOGGED),
        "",
        tuple(s.line.name for s in steps if s.suggestion.rule == NOT_LOGGED),
    )


def is_trained(line: Line) -> bool:
    """Tell whether a line is exercise, with a dose that can go up or down."""
    entry = line.entry
    return not isinstance(entry, Exercise) or entry.kind in TRAINED


def _step(prescription: Prescription, line: Line, asked: _Asked) -> NextStep:
    logs = asked.course.logs.get(prescription.pk, [])
    choices = asked.course.choices.get(prescription.pk)
    word = asked.episode.irritability
    suggestion = suggest(
        sessions=sessions_of(prescription, logs, usual=asked.usual),
        dose=dose_of(line),
        irritability=Irritability(word) if word else None,
        gates=asked.gates[line.is_flow_restricted],
        on=asked.on,
        policy=asked.policy,
    )
    return NextStep(
        prescription=prescription,
        line=line,
        suggestion=suggestion,
        changed=changed_line(line, suggestion.change),
        last_on=logs[-1].visit.visited_on if logs else None,
        earlier=choices[-1] if choices else None,
        on=asked.on,
    )


def sessions_of(
    line: Prescription, logs: Iterable[SessionLog], *, usual: Mapping[int, float]
) -> list[Session]:
    """Return the logged sessions of one line; visits at which none was done are none.

    Where the line has no pain of its own, pain told for the whole session counts.
    """
    return [_session(line, log, usual) for log in logs if log.sessions_done != 0]


def _session(
    line: Prescription, log: SessionLog, usual: Mapping[int, float]
) -> Session:
    response = getattr(log.visit, "response", None)
    whole = response.pain_during if response else None
    morning = response.next_morning if response else ""
    prescribed, done = _sets(line, log)
    return Session(
        done_on=log.visit.visited_on,
        pain_during=whole if log.pain_during is None else log.pain_during,
        next_morning=NextMorning(morning) if morning else None,
        usual_pain=usual.get(log.visit_id),
        sets_prescribed=prescribed,
        sets_done=done,
        repetitions_over=log.repetitions_over,
    )


def _sets(line: Prescription, log: SessionLog) -> tuple[int | None, int | None]:
    """Return sets prescribed and done; a set that pain stopped is not done.

    A line by time alone is one set, done when a session was.
    """
    prescribed, done = prescribed_sets(line), log.sets_done
    if prescribed is None and line.minutes:
        prescribed, done = 1, 1 if log.sessions_done else None
    if log.is_stopped_by_pain and prescribed is not None:
        done = min(prescribed - 1, prescribed if done is None else done)
    return prescribed, done


def dose_of(line: Line) -> Dose:
    """Return a line as the response rules read it."""
    key = line.exercise
    lower, upper = (library.easier(key), library.harder(key)) if key else (None, None)
    target = line.entry.target if line.entry else ""
    step = line.plate_step_kg
    return Dose(
        sets=line.sets,
        repetitions=line.repetitions,
        muscle=Muscle.LARGE if target in LARGE_TARGETS else Muscle.SMALL,
        load_kg=line.load_kg,
        plates=Plates(step, line.empty_kg or 0.0) if step else None,
        easier=Rung(lower.key, lower.name) if lower else None,
        harder=Rung(upper.key, upper.name) if upper else None,
        is_flow_restricted=line.is_flow_restricted,
        one_rm_kg=line.one_rm_kg,
    )


def changed_line(line: Line, change: Change | None) -> Line | None:
    """Return the line with the one change; None where it has no exact value."""
    if change is None:
        return None
    if change.rung:
        return _on_rung(line, library.exercise(change.rung.key))
    if change.load:
        kilograms = Prescription.Load.KG
        return replace(
            line, load=kilograms, load_kg=change.load.to_kg, load_percent=None
        )
    if change.volume is None:
        return None
    if line.scheme:
        return replace(line, scheme=line.scheme[:-1]) if line.scheme[1:] else None
    return replace(line, sets=change.volume.sets, repetitions=change.volume.repetitions)


def _on_rung(line: Line, entry: Exercise) -> Line | None:
    """Return the line on another rung, all else as it was; None where that cannot be.

    Repetitions do not turn into seconds by themselves, and a limit of the range is
    never dropped on the way.
    """
    there, moved = proposed(entry), replace(line, exercise=entry.key)
    if [bool(getattr(there, name)) for name in COUNTED] != [
        bool(getattr(line, name)) for name in COUNTED
    ]:
        return None
    least, most = entry.knee_range or (0, 180)
    bends = (line.range_from, line.range_to)
    is_fit = all(bend is None or least <= bend <= most for bend in bends)
    return moved if is_fit else None
