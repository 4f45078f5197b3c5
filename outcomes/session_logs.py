"""The programme since last time: the part of the visit form about each running line."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict

from clinic.models import Episode, Visit
from clinic.templatetags.clinic_format import day
from programs.adherence import planned_sessions, prescribed_sets
from programs.course import lines_of_case
from programs.dose_words import dose_words
from programs.lines import line_of
from programs.models import Prescription, SessionLog

from .session_recording import SessionEntry
from .visit_form import RatingField

MOST_SESSIONS, MOST_SETS = 99, 20  # guards against typing errors, assumed
OVER = (("-1", "Fewer"), ("0", "0"), ("1", "1"), ("2", "2 or more"))
LAST_SESSION = "How the knee took the last session"
SHOWN, AS_PLANNED = "lines", "as_planned"


class CountField(forms.CharField):
    """A whole number from 0 to `most`; empty stays empty, and 0 is an answer."""

    def __init__(self, *, label: str, most: int) -> None:
        self.most = most
        super().__init__(required=False, label=label)

    def clean(self, value: Any) -> int | None:
        """Return the whole number, or None where nothing was typed."""
        raw = str("" if value is None else value).strip()
        if not raw:
            return None
        if not (raw.isascii() and raw.isdigit() and int(raw) <= self.most):
            raise ValidationError(
                f"Type a whole number from 0 to {self.most}, or leave it empty."
            )
        return int(raw)


class SessionLogForm(forms.Form):
    """What was done of one line since the visit before; nothing is asked for."""

    sessions_done = CountField(label="Sessions done", most=MOST_SESSIONS)
    sets_done = CountField(label="Sets done in the last session", most=MOST_SETS)
    repetitions_over = forms.ChoiceField(
        choices=OVER,
        required=False,
        label="Repetitions over the target in the last set",
    )
    pain_during = RatingField(label="Pain during it")
    is_stopped_by_pain = forms.BooleanField(required=False, label="Pain stopped a set")

    def __init__(self, *args: Any, about: str, **kwargs: Any) -> None:
        self.about = about
        super().__init__(*args, **kwargs)


@dataclass(frozen=True, slots=True)
class LoggedLine:
    """One line of the programme in the visit form."""

    row: Prescription
    name: str
    words: str
    planned: int | None
    sets: int | None
    form: SessionLogForm

    @property
    def can_be_as_planned(self) -> bool:
        """Whether the plan says how many sessions or sets."""
        return self.planned is not None or self.sets is not None

    @property
    def planned_words(self) -> str:
        """The sessions that were planned since last time."""
        return "" if self.planned is None else f"{self.planned} planned"

    @property
    def sets_words(self) -> str:
        """The sets of one session."""
        return "" if self.sets is None else f"{self.sets} prescribed"

    @property
    def is_told(self) -> bool:
        """Whether anything was entered; only after validation."""
        return any(value not in (None, "", False) for value in self.told().values())

    def told(self) -> dict[str, Any]:
        """Return what was entered, as it is kept; only after validation."""
        given = {name: self.form.cleaned_data.get(name) for name in self.form.fields}
        over = given["repetitions_over"]
        return {**given, "repetitions_over": int(over) if over else None}

    def to_entry(self) -> SessionEntry:
        """Return what is recorded of the line."""
        return SessionEntry(prescription=self.row, **self.told())


class ProgrammePart:
    """The lines of the programme on one visit form."""

    def __init__(
        self,
        *,
        episode: Episode,
        on: date,
        visit: Visit | None,
        typed: QueryDict | None,
    ) -> None:
        self.episode, self.visit, self.typed = episode, visit, typed
        self.day = visit.visited_on if visit else on
        self.held = held_logs(visit) if visit else {}
        rows = {row.pk: row for row in lines_of_case(episode)}
        wanted = self._wanted(list(rows.values()))
        self.unknown = [pk for pk in wanted if pk not in rows]
        shown = [rows[pk] for pk in wanted if pk in rows]
        self.since = self._last_seen_on()
        self.lines = [self._line(row) for row in shown]

    def _wanted(self, rows: list[Prescription]) -> list[int]:
        """Return the lines on the page: those it showed, or those it will show."""
        if self.typed is not None:
            posted = self.typed.getlist(SHOWN)
            return [int(pk) if pk.isascii() and pk.isdigit() else 0 for pk in posted]
        return [
            row.pk for row in rows if row.pk in self.held or was_done(row, self.day)
        ]

    def _last_seen_on(self) -> date | None:
        attended = Visit.objects.standing().filter(
            episode=self.episode,
            attendance=Visit.Attendance.ATTENDED,
            visited_on__lt=self.day,
        )
        before = attended.order_by("-visited_on").first()
        return before.visited_on if before else None

    def _line(self, row: Prescription) -> LoggedLine:
        line, begun = line_of(row), row.starts_on or self.day
        since = max(self.since or begun, begun)
        planned = planned_sessions(row, from_on=since, until_on=self.day)
        sets, prefix = prescribed_sets(row), f"line-{row.pk}"
        data = self.typed
        if data is not None and data.get(AS_PLANNED) == str(row.pk):
            data = data.copy()
            data[f"{prefix}-sessions_done"] = "" if planned is None else str(planned)
            data[f"{prefix}-sets_done"] = "" if sets is None else str(sets)
        held = self.held.get(row.pk)
        form = SessionLogForm(
            data, prefix=prefix, initial=told_before(held), about=line.name
        )
        return LoggedLine(row, line.name, dose_words(line), planned, sets, form)

    @property
    def response_title(self) -> str:
        """What the knee is asked to have answered to; empty where there was nothing."""
        if self.since:
            return LAST_SESSION
        return "How the knee took the programme so far" if self.lines else ""

    @property
    def as_planned(self) -> int:
        """The line that "As planned" was tapped for without a script; 0 for none."""
        tapped = self.typed.get(AS_PLANNED, "") if self.typed is not None else ""
        return int(tapped) if tapped.isascii() and tapped.isdigit() else 0

    def refuse_lines_to_come(self, visit: dict[str, Any]) -> None:
        """Refuse what is told of a line that began after the visit."""
        visited_on = visit.get("visited_on")
        for line in self.told():
            begun = line.row.starts_on
            if visited_on and begun and begun > visited_on:
                line.form.add_error(
                    "sessions_done",
                    f"This line began on {day(begun)}, after the visit.",
                )

    def told(self) -> Iterator[LoggedLine]:
        """Yield the lines of which something was entered; only after validation."""
        return (line for line in self.lines if line.is_told)

    def entries(self) -> tuple[SessionEntry, ...]:
        """Return what is recorded: what was told, and what was told and is cleared."""
        return tuple(
            line.to_entry()
            for line in self.lines
            if line.is_told or line.row.pk in self.held
        )


def was_done(row: Prescription, day: date) -> bool:
    """Tell whether a line was in force before a visit, up to or on its day.

    A line that took another's place on that very day has not been done yet.
    """
    begun, over = row.starts_on, row.stops_on
    if begun is None or begun > day or (over and (over < day or over <= begun)):
        return False
    is_counted = prescribed_sets(row) or row.minutes or row.times_a_week
    return bool(is_counted) and not (row.replaces_id and begun == day)


def held_logs(visit: Visit) -> dict[int, SessionLog]:
    """Return what the visit holds, by line; runs a query."""
    return {log.prescription_id: log for log in visit.session_logs.all()}


def told_before(log: SessionLog | None) -> dict[str, Any]:
    """Return what was entered before, for the form."""
    if log is None:
        return {"is_stopped_by_pain": False}
    return {name: getattr(log, name) for name in SessionLogForm.base_fields}
