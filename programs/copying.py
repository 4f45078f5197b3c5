"""Acts of copying: into a case from a template or an earlier episode, and back.

What was measured on a person does not travel: neither 1RM nor occlusion pressure.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from django.db import transaction
from django.db.models import Q

from clinic.models import Episode, User

from . import audit
from .line_rules import limb_of
from .lines import Line, line_of
from .models import Phase, Prescription, Programme
from .planning import lines_of
from .prescribing import GateClosed, PlanRefused, episode_of, put_line, record


@dataclass(frozen=True, slots=True, kw_only=True)
class Cuff:
    """An occlusion pressure as measured on one limb, and the share of it to use."""

    mmhg: int | None
    side: str
    measured_on: date | None
    percent: int | None


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A line that was not copied, and why."""

    name: str
    reason: str


@dataclass(frozen=True, slots=True)
class Copied:
    """A copy, and every line of its source that is not in it."""

    programme: Programme
    left_out: tuple[LeftOut, ...]


class CopyRefused(PlanRefused):
    """Lines that cannot be copied; nothing was."""

    def __init__(self, left_out: tuple[LeftOut, ...]) -> None:
        named = " ".join(f"{one.name}: {one.reason}" for one in left_out)
        super().__init__(f"Nothing was copied. {named}")
        self.left_out = left_out


def sources_for(episode: Episode, user: User) -> Any:
    """Return what may be copied into a case: templates, and the person's own past."""
    is_over = Q(ended_on__isnull=False) | ~Q(episode=episode)
    own = Q(episode__patient_id=episode.patient_id) & is_over
    found = Programme.objects.for_user(user).standing()
    return found.filter(Q(episode__isnull=True) | own).select_related("episode")


def last_lines(programme: Programme) -> list[Prescription]:
    """Return the lines that a copy takes: in force at the end, or still waiting."""
    at_the_end = Q(stops_on__isnull=True) | Q(replaced_by__isnull=True)
    lines = lines_of(programme).filter(at_the_end).order_by("phase__number", "pk")
    found = lines.select_related("clinic_exercise", "phase")
    return [line for line in found if _is_last(line, programme)]


def _is_last(line: Prescription, programme: Programme) -> bool:
    if line.stops_on is None:
        return True
    return programme.ended_on is not None and line.stops_on >= programme.ended_on


@transaction.atomic
def copy_programme(
    source: Programme,
    *,
    episode: Episode,
    by: User,
    on: date,
    title: str = "",
    cuff: Cuff | None = None,
    is_leaving_out: bool = False,
) -> Copied:
    """Begin a programme as a copy; its first phase begins, the others wait.

    Raises CopyRefused, naming the lines that cannot be prescribed here, unless those
    are to be left out. Loads in kg are copied as they were.
    """
    _refuse_foreign(source, episode)
    made = Programme.objects.create(
        site_id=episode.site_id,
        episode=episode,
        title=title or source.title,
        aim=source.aim if source.is_template else "",
        starts_on=on,
        copied_from=source,
        made_by=by,
    )
    left_out = tuple(_copy_lines(source, made, by=by, on=on, cuff=cuff))
    if left_out and not is_leaving_out:
        raise CopyRefused(left_out)
    names = [one.name for one in left_out]
    record(audit.PROGRAMME_COPIED, by, made, source=source.pk, left_out=names)
    return Copied(made, left_out)


def _refuse_foreign(source: Programme, episode: Episode) -> None:
    is_own = source.episode and source.episode.patient_id == episode.patient_id
    if source.site_id != episode.site_id or not (source.is_template or is_own):
        raise PlanRefused("Copy a template, or an earlier programme of this person.")
    if source.voided_at:
        raise PlanRefused("This programme was voided: choose another.")
    if not episode.is_open:
        raise PlanRefused("This case is not in care; nothing more is planned in it.")


def _copy_lines(
    source: Programme, made: Programme, *, by: User, on: date, cuff: Cuff | None
) -> Iterator[LeftOut]:
    """Copy the phases and yield the lines that could not be."""
    lines, episode = last_lines(source), episode_of(made)
    phases = _copy_phases(source, made, lines, starts_on=on)
    for line in lines:
        phase = phases[line.phase_id]
        copied = _for_case(line_of(line), episode, cuff)
        try:
            put_line(copied, phase=phase, by=by, on=on, starts_on=phase.starts_on)
        except GateClosed as closed:
            yield LeftOut(copied.name, closed.reason)
        except PlanRefused as refused:
            reason = refused.reason.removeprefix(f"{copied.name}: ")
            yield LeftOut(copied.name, reason)


def _copy_phases(
    source: Programme,
    made: Programme,
    lines: Iterable[Prescription],
    *,
    starts_on: date | None,
) -> dict[int, Phase]:
    """Copy the phases and return the copies by the key of what they copy.

    Of an ended programme those that were over before its end stay behind, so that a
    copy begins where the person was. An aim is written about a person: a template,
    which the site sees, takes none.
    """
    copies, held = {}, {line.phase_id for line in lines}
    phases = list(source.phases.order_by("number"))
    if source.ended_on and held:
        phases = [phase for phase in phases if phase.pk in held]
    for number, phase in enumerate(phases, 1):
        copies[phase.pk] = Phase.objects.create(
            site_id=made.site_id,
            programme=made,
            number=number,
            title=phase.title,
            aim="" if made.is_template else phase.aim,
            starts_on=starts_on if number == 1 else None,
        )
    return copies


def _for_case(line: Line, episode: Episode, cuff: Cuff | None) -> Line:
    """Return a line for another time: what was measured is measured anew."""
    found = _without_measures(line)
    if not line.is_flow_restricted or cuff is None:
        return found
    return replace(
        found,
        occlusion_mmhg=cuff.mmhg,
        occlusion_side=cuff.side or limb_of(line, episode),
        occlusion_measured_on=cuff.measured_on,
        cuff_percent=cuff.percent,
    )


def _without_measures(line: Line) -> Line:
    is_percent = line.load == Prescription.Load.PERCENT
    return replace(
        line,
        one_rm_kg=None,
        load_kg=None if is_percent else line.load_kg,
        occlusion_mmhg=None,
        occlusion_side="",
        occlusion_measured_on=None,
        cuff_percent=None,
    )


@transaction.atomic
def save_as_template(programme: Programme, *, by: User, title: str) -> Programme:
    """Keep a programme of a case as a template of the site, without the person.

    Aim, notes and reasons stay behind, and so does everything measured.
    """
    if programme.voided_at:
        raise PlanRefused("This programme was voided; it makes no template.")
    made = Programme.objects.create(
        site_id=programme.site_id, title=title, copied_from=programme, made_by=by
    )
    lines = last_lines(programme)
    phases = _copy_phases(programme, made, lines, starts_on=None)
    Prescription.objects.bulk_create(
        Prescription(
            site_id=made.site_id,
            phase=phases[line.phase_id],
            prescribed_by=by,
            **replace(_without_measures(line_of(line)), note="").columns,
        )
        for line in lines
    )
    record(audit.TEMPLATE_SAVED, by, made, source=programme.pk)
    return made
