"""Acts on a programme and its phases: start, end, void, add a phase, change one."""

from datetime import date
from typing import Any

from django.db import transaction
from django.utils import timezone

from clinic.models import Episode, User
from clinic.versions import claim

from . import audit
from .lines import line_of
from .models import Phase, Prescription, Programme
from .prescribing import case_of, checked_line, episode_of, record, said, stop_line

FIRST_PHASE = "First phase"


@transaction.atomic
def start_programme(
    episode: Episode,
    *,
    by: User,
    starts_on: date,
    title: str,
    aim: str = "",
    first_phase: str = FIRST_PHASE,
) -> Programme:
    """Begin a programme with its first phase; a case has one running at a time."""
    made = Programme.objects.create(
        site_id=episode.site_id,
        episode=episode,
        title=title,
        aim=aim,
        starts_on=starts_on,
        made_by=by,
    )
    Phase.objects.create(
        site_id=made.site_id,
        programme=made,
        number=1,
        title=first_phase or FIRST_PHASE,
        starts_on=starts_on,
    )
    record(audit.PROGRAMME_STARTED, by, made)
    return made


@transaction.atomic
def end_programme(
    programme: Programme, *, by: User, on: date, why: str, version: int
) -> None:
    """End a programme with everything that runs or waits in it."""
    case_of(programme)
    claim(programme, version)
    programme.ended_on, programme.why_ended = on, said(why)
    programme.save(update_fields=["ended_on", "why_ended"])
    for line in lines_of(programme).filter(stops_on__isnull=True):
        last_on = max(on, line.starts_on) if line.starts_on else on
        stop_line(line, by=by, on=last_on, why=why)
    for phase in programme.phases.filter(ends_on__isnull=True, starts_on__lte=on):
        phase.ends_on = on
        phase.save(update_fields=["ends_on"])
    record(audit.PROGRAMME_ENDED, by, programme, on=on.isoformat(), why=why)


@transaction.atomic
def void_programme(programme: Programme, *, by: User, why: str, version: int) -> None:
    """Withdraw a programme that was entered by mistake, with its lines."""
    claim(programme, version)
    void = {
        "voided_at": timezone.now(),
        "voided_by": by,
        "void_reason": said(why),
    }
    lines_of(programme).update(**void)
    for name, value in void.items():
        setattr(programme, name, value)
    programme.save(update_fields=list(void))
    record(audit.PROGRAMME_VOIDED, by, programme, why=why)


@transaction.atomic
def add_phase(
    programme: Programme,
    *,
    by: User,
    title: str,
    aim: str = "",
    starts_on: date | None = None,
    ends_on: date | None = None,
) -> Phase:
    """Add a phase after the last; without a day it waits to be begun."""
    episode_of(programme)
    last = programme.phases.order_by("-number").first()
    made = Phase.objects.create(
        site_id=programme.site_id,
        programme=programme,
        number=last.number + 1 if last else 1,
        title=title,
        aim=aim,
        starts_on=starts_on,
        ends_on=ends_on,
    )
    record(audit.PHASE_ADDED, by, programme, phase=made.pk)
    return made


@transaction.atomic
def change_phase(
    phase: Phase, *, by: User, on: date, version: int, **changes: Any
) -> Phase:
    """Change title, aim or days; a first day begins the lines that waited for it.

    The version is the programme's. Raises PlanRefused where a waiting line fails.
    """
    episode_of(phase.programme)
    claim(phase.programme, version)
    before = {name: str(getattr(phase, name)) for name in changes}
    for name, value in changes.items():
        setattr(phase, name, value)
    phase.save(update_fields=list(changes))
    if phase.starts_on:
        _begin_lines(phase, on=on)
    after = {name: str(value) for name, value in changes.items()}
    record(
        audit.PHASE_CHANGED,
        by,
        phase.programme,
        phase=phase.pk,
        before=before,
        after=after,
    )
    return phase


def _begin_lines(phase: Phase, *, on: date) -> None:
    """Begin what waited; it is checked again, since a screen may have run out."""
    episode = episode_of(phase.programme)
    waiting = phase.prescriptions.standing().filter(
        starts_on__isnull=True, stops_on__isnull=True
    )
    for line in waiting.select_related("clinic_exercise"):
        checked_line(line_of(line), episode=episode, on=on, starts_on=phase.starts_on)
        line.starts_on = phase.starts_on
        line.save(update_fields=["starts_on"])


def lines_of(programme: Programme) -> Any:
    """Return the standing lines of a programme."""
    return Prescription.objects.standing().filter(phase__programme=programme)
