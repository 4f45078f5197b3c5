"""The next step of each running line: from what was logged to one suggestion.

Only sessions of the line itself count, since a change of dose makes a new line.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from urllib.parse import urlencode

from clinic.models import Episode
from clinic.submissions import new_form_key

from .course import Course
from .dose_words import dose_words
from .dosing.limits import DosingPolicy
from .dosing.loading import Irritability
from .dosing.response import Gates, Suggestion, suggest
from .dosing.response_rules import Kind
from .gates import dosing_for, gates_for
from .library_entries import Exercise
from .library_entries import Kind as EntryKind
from .line_doses import changed_line, dose_of, sessions_of
from .lines import Line, line_of
from .models import Prescription, SuggestionChoice

TRAINED = (EntryKind.EXERCISE, EntryKind.RUNNING)
# Gates that close for every line alike are said once.
FOR_ALL = ("advice_off", "red_flag_undecided")
NOT_LOGGED = "no_session"
LONGEST_WHY = 300  # the column's length


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
    def why(self) -> str:
        """The reason that stands with a line that came from it."""
        return f"Suggested: {self.sentence}"[:LONGEST_WHY]

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
