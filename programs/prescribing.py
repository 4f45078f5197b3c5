"""Acts on the lines of a programme: prescribe, change, stop.

Nothing is edited: a change of a line makes a new line that replaces it. Every way to
a line leads through `put_line`, which asks the gate of blood-flow restriction.
A line runs from `starts_on` up to, but not on, `stops_on`.
"""

from datetime import date
from typing import Any

from django.db import transaction

from clinic.models import AuditEvent, Episode, User

from . import audit
from .gates import dosing_for, flow_status
from .line_rules import faults, with_load
from .lines import Line, name_of
from .models import Phase, Prescription, Programme


class PlanRefused(Exception):
    """What was asked cannot be done; `reason` is a sentence that says what to do."""

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason


class GateClosed(PlanRefused):
    """Blood-flow restriction without an open screen; there is no override."""


class LineRefused(PlanRefused):
    """A dose that is not whole or out of range: `faults` has a reason per field."""

    def __init__(self, line: Line, found: dict[str, str]) -> None:
        super().__init__(f"{line.name}: {' '.join(found.values())}")
        self.faults = found


def check_gate(episode: Episode, *days: date) -> None:
    """Raise GateClosed unless the flow screen is open on every one of the days."""
    for on in sorted(set(days)):
        status = flow_status(episode, on=on)
        if not status.is_open:
            raise GateClosed(
                f"Blood-flow restriction cannot be prescribed: {status.reason}"
            )


def checked_line(
    line: Line, *, episode: Episode, on: date, starts_on: date | None
) -> Line:
    """Return the line, its load filled in; raise GateClosed or LineRefused."""
    if line.is_flow_restricted:
        check_gate(episode, on, starts_on or on)
    policy = dosing_for(episode.site)
    whole = with_load(line, policy)
    if found := faults(whole, episode=episode, policy=policy, on=on):
        raise LineRefused(line, found)
    return whole


def put_line(
    line: Line,
    *,
    phase: Phase,
    by: User,
    on: date,
    starts_on: date | None,
    **more: Any,
) -> Prescription:
    """Keep a checked line in a phase: the one way to a prescription of a case.

    Without `starts_on` the line waits for its phase. Raises PlanRefused.
    """
    programme = phase.programme
    episode = episode_of(programme)
    if starts_on and starts_on < episode.opened_on:
        raise PlanRefused("A line cannot begin before the episode of care.")
    whole = checked_line(line, episode=episode, on=on, starts_on=starts_on)
    return Prescription.objects.create(
        site_id=phase.site_id,
        phase=phase,
        prescribed_by=by,
        starts_on=starts_on,
        **whole.columns,
        **more,
    )


@transaction.atomic
def prescribe(
    phase: Phase,
    *,
    by: User,
    line: Line,
    on: date,
    starts_on: date | None = None,
    why: str = "",
) -> Prescription:
    """Put a line into a phase; in a phase that has not begun, the line waits too."""
    begins_on = (starts_on or on) if phase.starts_on else None
    made = put_line(line, phase=phase, by=by, on=on, starts_on=begins_on, why=why)
    record(audit.LINE_PRESCRIBED, by, phase.programme, line=made.pk, why=why)
    return made


@transaction.atomic
def change_prescription(
    old: Prescription, *, by: User, line: Line, on: date, why: str
) -> Prescription:
    """Replace a line by another from a day on; the old one stays readable."""
    _refuse_over(old)
    begins_on = max(on, old.starts_on) if old.starts_on else None
    made = put_line(
        line,
        phase=old.phase,
        by=by,
        on=on,
        starts_on=begins_on,
        replaces=old,
        why=said(why),
    )
    stop_line(old, by=by, on=begins_on or on, why=why)
    record(
        audit.LINE_CHANGED,
        by,
        old.phase.programme,
        line=made.pk,
        before=old.pk,
        why=why,
    )
    return made


@transaction.atomic
def stop_prescription(old: Prescription, *, by: User, on: date, why: str) -> None:
    """End a line without another in its place; before its first day, on that day."""
    _refuse_over(old)
    last_on = max(on, old.starts_on) if old.starts_on else on
    stop_line(old, by=by, on=last_on, why=said(why))
    record(audit.LINE_STOPPED, by, old.phase.programme, line=old.pk, why=why)


def _refuse_over(old: Prescription) -> None:
    """Refuse a line that ended meanwhile; it is read anew."""
    old.refresh_from_db()
    if old.stops_on or old.voided_at:
        raise PlanRefused(
            f"{name_of(old)} was stopped or changed meanwhile. Look at the programme."
        )


def stop_line(old: Prescription, *, by: User, on: date, why: str) -> None:
    """End a line on a day, with who and why; no audit line of its own."""
    old.stops_on, old.stopped_by, old.why_stopped = on, by, why
    old.save(update_fields=["stops_on", "stopped_by", "why_stopped"])


# What every act of planning shares


def episode_of(programme: Programme) -> Episode:
    """Return the case of a programme that is written in, or raise PlanRefused."""
    episode = case_of(programme)
    if not episode.is_open:
        raise PlanRefused("This case is not in care; nothing more is planned in it.")
    return episode


def case_of(programme: Programme) -> Episode:
    """Return the case of a programme that has not ended, in care or not."""
    if programme.voided_at:
        raise PlanRefused("This programme was voided; nothing more is entered in it.")
    if programme.ended_on:
        raise PlanRefused("This programme has ended: start another, or copy it.")
    if programme.episode is None:
        raise PlanRefused("A template is copied into a case; it is not prescribed in.")
    return programme.episode


def said(why: str) -> str:
    """Return the reason, or raise PlanRefused: every change says why."""
    if not why.strip():
        raise PlanRefused("Say why, in a few words.")
    return why.strip()


def record(action: Any, by: User, programme: Programme, **detail: Any) -> None:
    """Put an act on a programme on the record."""
    AuditEvent.objects.record(
        action,
        by=by,
        patient=programme.episode.patient if programme.episode else None,
        programme=programme.pk,
        **detail,
    )
