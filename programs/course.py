"""Read model of what was done in a case: its programmes, lines and logged sessions."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from clinic.models import Episode, Visit

from .models import Phase, Prescription, Programme, SessionLog, SuggestionChoice


@dataclass(frozen=True)
class Course:
    """The programmes of one case, oldest first; nothing that was voided."""

    programmes: tuple[Programme, ...]
    phases: tuple[Phase, ...]
    lines: tuple[Prescription, ...]
    logs: dict[int, list[SessionLog]]
    choices: dict[int, list[SuggestionChoice]]

    def running(self, on: date) -> tuple[Prescription, ...]:
        """Return the lines in force on a day: begun, and stopping later if at all."""
        return tuple(line for line in self.lines if runs(line, on))

    @cached_property
    def by_pk(self) -> dict[int, Prescription]:
        """The lines by number."""
        return {line.pk: line for line in self.lines}

    def before(self, line: Prescription) -> Prescription | None:
        """Return the line that this one replaced."""
        return self.by_pk.get(line.replaces_id) if line.replaces_id else None


def runs(line: Prescription, on: date) -> bool:
    """Tell whether a line is in force on a day; on `stops_on` it no longer is."""
    if line.starts_on is None or line.starts_on > on:
        return False
    return line.stops_on is None or line.stops_on > on


def is_filled(log: SessionLog) -> bool:
    """Tell whether anything was told; a row that was emptied stays without meaning."""
    told = (log.sessions_done, log.sets_done, log.repetitions_over, log.pain_during)
    return log.is_stopped_by_pain or any(value is not None for value in told)


def read_course(episode: Episode) -> Course:
    """Read the programmes of a case; five queries, however many lines."""
    programmes = Programme.objects.standing().filter(episode=episode)
    phases = Phase.objects.filter(programme__in=programmes)
    return Course(
        programmes=tuple(programmes.order_by("starts_on", "pk")),
        phases=tuple(
            phases.select_related("programme").order_by("starts_on", "number", "pk")
        ),
        lines=tuple(lines_of_case(episode).filter(starts_on__isnull=False)),
        logs=_logs(episode),
        choices=_choices(episode),
    )


def lines_of_case(episode: Episode):  # type: ignore[no-untyped-def]
    """Return the standing lines of a case, begun or waiting, in order of time."""
    return (
        Prescription.objects.standing()
        .filter(phase__programme__episode=episode, phase__programme__voided_at=None)
        .select_related("phase__programme", "clinic_exercise", "prescribed_by")
        .order_by("starts_on", "pk")
    )


def _logs(episode: Episode) -> dict[int, list[SessionLog]]:
    rows = (
        SessionLog.objects.filter(
            visit__episode=episode,
            visit__voided_at=None,
            visit__attendance=Visit.Attendance.ATTENDED,
        )
        .select_related("visit__response")
        .order_by("visit__visited_on", "pk")
    )
    found: dict[int, list[SessionLog]] = defaultdict(list)
    for log in filter(is_filled, rows):
        found[log.prescription_id].append(log)
    return found


def _choices(episode: Episode) -> dict[int, list[SuggestionChoice]]:
    rows = SuggestionChoice.objects.filter(
        prescription__phase__programme__episode=episode
    ).select_related("chosen_by")
    found: dict[int, list[SuggestionChoice]] = defaultdict(list)
    for choice in rows.order_by("suggested_on", "pk"):
        found[choice.prescription_id].append(choice)
    return found
