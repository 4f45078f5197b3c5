"""The sheet that the patient takes home: what, how many, how often, when to stop.

Only what is needed at home: no diagnosis, no record number, no family name, and
neither the title nor the aim of the programme, which may say more than that.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.db import transaction

from clinic.models import AuditEvent, Episode, Patient, Site, User

from . import audit
from .dosing.flow_questions import StopSign, questions
from .dosing.limits import DosingPolicy
from .dosing.no_estimate import plain
from .drawings.catalogue import drawing_on_white
from .gates import dosing_for, flow_status, is_red_flag_undecided
from .handout_words import (
    cautions_of,
    dose_of,
    facts_of,
    how_of,
    how_often,
    limit_words,
)
from .library import library
from .lines import line_of
from .models import Prescription
from .plans import chain_of, limit_of

# Concerns and urgency: `clinic/red_flags.toml`, with its sources; the words for the
# patient are this project's. Chest pain and breathlessness as in `bfr_screen.toml`.
EMERGENCY_SIGNS = (
    "a hot, red, swollen knee, or fever with it",
    "after an injury: you cannot stand on the leg, or cannot straighten or lift it",
    "a cold, pale or numb lower leg or foot",
    "chest pain, or sudden trouble breathing",
)
SAME_DAY_SIGNS = (
    "a swollen, sore or warm calf or thigh",
    "a knee that is stuck, a kneecap that slipped out, or swelling within hours",
)
CLINIC_SIGNS = (
    "pain that keeps you awake, or a knee that gives way",
    "new pain in the groin, hip or shin",
)
# How many exercises leave room for large pictures, and for middling ones: with more
# of them the pictures shrink, so that eight fit on two pages. Found by looking.
ROOMY_UP_TO, EASY_UP_TO = 4, 6


@dataclass(frozen=True, slots=True)
class Task:
    """One exercise of the sheet; the picture is SVG of this project's own."""

    name: str
    picture: str
    dose: str
    often: str
    facts: tuple[str, ...]
    how: tuple[str, ...]
    cautions: tuple[str, ...]
    limit: str
    note: str


@dataclass(frozen=True, slots=True)
class PainRule:
    """The clinic's zones of pain during exercise, 0 to 10."""

    easy: str
    limit: str


@dataclass(frozen=True, slots=True)
class Handout:
    """The whole sheet; `warnings` are for the clinician's screen, never on paper."""

    patient: str
    clinician: str
    site: Site
    made_on: date
    pain: PainRule
    tasks: tuple[Task, ...]
    flow_signs: tuple[StopSign, ...]
    warnings: tuple[str, ...]

    emergency_signs = EMERGENCY_SIGNS
    same_day_signs = SAME_DAY_SIGNS
    clinic_signs = CLINIC_SIGNS

    @property
    def notes(self) -> tuple[Task, ...]:
        """The exercises that carry a note."""
        return tuple(task for task in self.tasks if task.note)

    @property
    def room(self) -> str:
        """How large the pictures may be, so that the sheet stays on two pages."""
        if len(self.tasks) <= ROOMY_UP_TO:
            return "roomy"
        return "easy" if len(self.tasks) <= EASY_UP_TO else "tight"


def read_handout(episode: Episode, *, on: date) -> Handout:
    """Return the sheet of what runs on a day."""
    policy = dosing_for(episode.site)
    rows = _rows(episode)
    running = [row for row in rows.values() if _is_running(row, on)]
    flow_reason = _why_no_cuff(episode, running, on)
    shown = [row for row in running if not (flow_reason and _has_cuff([row]))]
    return Handout(
        patient=name_on_paper(episode.patient),
        clinician=str(episode.clinician),
        site=episode.site,
        made_on=on,
        pain=PainRule(plain(policy.easy_pain), plain(policy.pain_limit)),
        tasks=tuple(_task(chain_of(row, rows), episode, policy, on) for row in shown),
        flow_signs=questions().stop_signs if _has_cuff(shown) else (),
        warnings=_warnings(episode, running, shown, flow_reason),
    )


def name_on_paper(patient: Patient) -> str:
    """Return the given name and the first letter of the family name."""
    initial = patient.family_name.strip()[:1]
    return f"{patient.given_name} {initial}." if initial else patient.given_name


@transaction.atomic
def record_handout(episode: Episode, sheet: Handout, *, by: User, kind: str) -> None:
    """Put on the record who made a sheet, of how many exercises: "page" or "pdf"."""
    AuditEvent.objects.record(
        audit.HANDOUT_MADE,
        by=by,
        patient=episode.patient,
        episode=episode.pk,
        kind=kind,
        exercises=[task.name for task in sheet.tasks],
    )


def _rows(episode: Episode) -> dict[int, Prescription]:
    """Return every line of the case by key, in the order of the plan."""
    lines = Prescription.objects.standing().filter(
        phase__programme__episode=episode,
        phase__programme__voided_at__isnull=True,
    )
    ordered = lines.select_related("clinic_exercise").order_by("phase__number", "pk")
    return {row.pk: row for row in ordered}


def _is_running(row: Prescription, on: date) -> bool:
    """Tell whether a line runs: from its first day up to, but not on, its last."""
    is_begun = row.starts_on is not None and row.starts_on <= on
    return is_begun and (row.stops_on is None or row.stops_on > on)


def _has_cuff(rows: Sequence[Prescription]) -> bool:
    return any(line_of(row).is_flow_restricted for row in rows)


def _why_no_cuff(episode: Episode, running: Sequence[Prescription], on: date) -> str:
    """Return why work under a cuff is not handed out today; nothing if it is."""
    if not _has_cuff(running):
        return ""
    status = flow_status(episode, on=on)
    return "" if status.is_open else status.reason


def _task(
    chain: list[Prescription], episode: Episode, policy: DosingPolicy, on: date
) -> Task:
    line = line_of(chain[-1])
    entry = library().get(line.exercise)
    return Task(
        name=line.name,
        picture=drawing_on_white(entry.drawing) if entry and entry.drawing else "",
        dose=dose_of(line, episode),
        often=how_often(line),
        facts=facts_of(line, episode=episode, policy=policy),
        how=how_of(line),
        cautions=cautions_of(line),
        limit=limit_words(limit_of(chain, entry, on=on)),
        note=line.note,
    )


def _warnings(
    episode: Episode,
    running: Sequence[Prescription],
    shown: Sequence[Prescription],
    flow_reason: str,
) -> tuple[str, ...]:
    found = []
    if is_red_flag_undecided(episode):
        found.append(
            "A red-flag answer awaits a decision. Decide on it before the patient "
            "goes home with exercises."
        )
    left_off = [line_of(row).name for row in running if row not in shown]
    if left_off:
        found.append(f"Left off the sheet: {', '.join(left_off)}. {flow_reason}")
    return tuple(found)
