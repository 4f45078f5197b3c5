"""Acts on what was told and measured: log a visit, correct it, keep a score."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.db import transaction

from clinic import audit as clinic_audit
from clinic import screening
from clinic.models import AuditEvent, Episode, User, Visit
from clinic.versions import claim
from clinic.voiding import void_row
from programs.models import SessionResponse

from . import audit
from .models import PAIN_KINDS, Activity, Assessment, PainScore, Wording
from .science.measures import Belongs, measure
from .science.scoring import Unscorable, score
from .session_recording import SessionEntry, keep_session_logs, session_logs_state


@dataclass(frozen=True, slots=True, kw_only=True)
class FilledForm:
    """One questionnaire as it was answered."""

    measure: str
    answers: Mapping[str, Any]
    mode: str
    language: str = "en"
    wording: Wording | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitEntry:
    """Everything that one save of the visit form carries."""

    visited_on: date
    attendance: str
    note: str = ""
    next_planned_on: date | None = None
    pain: Mapping[str, int | None] = field(default_factory=dict)
    pain_during: int | None = None
    next_morning: str = ""
    screen_form: str = ""
    screen_answers: Mapping[str, bool] = field(default_factory=dict)
    screen_decision: str = ""
    forms: tuple[FilledForm, ...] = ()
    session_logs: tuple[SessionEntry, ...] = ()

    @property
    def details(self) -> dict[str, Any]:
        """Return the columns of the visit itself."""
        return {
            "visited_on": self.visited_on,
            "attendance": self.attendance,
            "note": self.note,
            "next_planned_on": self.next_planned_on,
        }


@transaction.atomic
def record_visit(*, episode: Episode, by: User, entry: VisitEntry) -> Visit:
    """Save a new visit with all that was told and measured at it."""
    visit = Visit.objects.create(
        site_id=episode.site_id, episode=episode, clinician=by, **entry.details
    )
    SessionResponse.objects.create(visit=visit, **_response_of(visit, entry))
    if _is_rated(entry):
        PainScore.objects.create(visit=visit, **_pain_of(visit, entry))
    _keep_parts(visit, by=by, entry=entry)
    AuditEvent.objects.record(
        clinic_audit.VISIT_RECORDED, by=by, patient=episode.patient, visit=visit.pk
    )
    return visit


@transaction.atomic
def change_visit(visit: Visit, *, by: User, entry: VisitEntry, version: int) -> Visit:
    """Save a changed visit; raises StaleEdit when it changed meanwhile."""
    claim(visit, version)
    before = visit_state(visit)
    for name, value in entry.details.items():
        setattr(visit, name, value)
    visit.save(update_fields=list(entry.details))
    SessionResponse.objects.update_or_create(
        visit=visit, defaults=_response_of(visit, entry)
    )
    if _is_rated(entry) or PainScore.objects.filter(visit=visit).exists():
        PainScore.objects.update_or_create(visit=visit, defaults=_pain_of(visit, entry))
    _keep_parts(visit, by=by, entry=entry)
    AuditEvent.objects.record(
        clinic_audit.VISIT_CHANGED,
        by=by,
        patient=visit.episode.patient,
        visit=visit.pk,
        before=before,
        after=visit_state(visit),
    )
    return visit


def visit_state(visit: Visit) -> dict[str, Any]:
    """Return what a visit holds, for the record of a change; runs queries."""
    response = SessionResponse.objects.filter(visit=visit).first()
    pain = PainScore.objects.standing().filter(visit=visit).first()
    return {
        "visited_on": visit.visited_on.isoformat(),
        "attendance": visit.attendance,
        "note": visit.note,
        "next_planned_on": str(visit.next_planned_on or ""),
        "pain": pain.values() if pain else {},
        "pain_during": response.pain_during if response else None,
        "next_morning": response.next_morning if response else "",
        "session_logs": session_logs_state(visit),
    }


def _keep_parts(visit: Visit, *, by: User, entry: VisitEntry) -> None:
    keep_session_logs(visit, entry.session_logs)
    for form in entry.forms:
        record_assessment(
            episode=visit.episode,
            by=by,
            form=form,
            assessed_on=visit.visited_on,
            visit=visit,
        )
    if entry.screen_form:
        screening.answer_screen(
            episode=visit.episode,
            by=by,
            form=entry.screen_form,
            answers=dict(entry.screen_answers),
            on=visit.visited_on,
            visit=visit,
            decision=entry.screen_decision,
        )


def _response_of(visit: Visit, entry: VisitEntry) -> dict[str, Any]:
    return {
        "site_id": visit.site_id,
        "pain_during": entry.pain_during,
        "next_morning": entry.next_morning,
    }


def _is_rated(entry: VisitEntry) -> bool:
    return any(entry.pain.get(kind) is not None for kind in PAIN_KINDS)


def _pain_of(visit: Visit, entry: VisitEntry) -> dict[str, Any]:
    return {
        "site_id": visit.site_id,
        "episode_id": visit.episode_id,
        "rated_on": visit.visited_on,
        **{kind: entry.pain.get(kind) for kind in PAIN_KINDS},
    }


@transaction.atomic
def record_assessment(
    *,
    episode: Episode,
    by: User,
    form: FilledForm,
    assessed_on: date,
    visit: Visit | None = None,
) -> Assessment:
    """Score and keep a questionnaire; other answers for the same day correct it."""
    held = _held_assessment(episode, form.measure, assessed_on, visit)
    if held and same_form(held, form, assessed_on):
        return held
    made = scored(episode, form, assessed_on)
    made.recorded_by, made.visit = by, visit
    if held:
        void_row(held, by=by, why="Corrected: replaced by a later entry.")
        made.replaces = held
    made.save()
    action = audit.ASSESSMENT_CORRECTED if held else audit.ASSESSMENT_RECORDED
    AuditEvent.objects.record(
        action,
        by=by,
        patient=episode.patient,
        assessment=made.pk,
        before=held.answers if held else None,
    )
    return made


def _held_assessment(
    episode: Episode, key: str, assessed_on: date, visit: Visit | None
) -> Assessment | None:
    """Return what stands for this visit, or for this day of the case."""
    standing = Assessment.objects.standing().filter(measure=key)
    at_visit = standing.filter(visit=visit).first() if visit else None
    return (
        at_visit or standing.of_episode(episode).filter(assessed_on=assessed_on).first()
    )


def same_form(held: Assessment, form: FilledForm, assessed_on: date) -> bool:
    """Whether a stored assessment says what the form says."""
    return (
        held.answers == dict(form.answers)
        and held.mode == form.mode
        and held.language == form.language
        and held.assessed_on == assessed_on
    )


def scored(episode: Episode, form: FilledForm, assessed_on: date) -> Assessment:
    """Return an unsaved assessment with its score, or the reason for none."""
    instrument = measure(form.measure)
    result = score(instrument, form.answers)
    is_scored = not isinstance(result, Unscorable)
    return Assessment(
        site_id=episode.site_id,
        episode=episode,
        patient_id=episode.patient_id,
        measure=instrument.key,
        edition=instrument.edition,
        is_of_person=instrument.belongs is Belongs.PERSON,
        assessed_on=assessed_on,
        answers=dict(form.answers),
        score=result.value if is_scored else None,  # type: ignore[union-attr]
        no_score_reason="" if is_scored else result.reason,  # type: ignore[union-attr]
        mode=form.mode,
        language=form.language,
        wording=form.wording,
    )


def name_activity(*, episode: Episode, words: str) -> Activity:
    """Return the patient's activity of these words, numbering a new one."""
    taken = Activity.objects.filter(patient=episode.patient)
    found = taken.filter(words__iexact=words.strip()).first()
    return found or Activity.objects.create(
        site_id=episode.site_id,
        patient=episode.patient,
        number=1 + max((a.number for a in taken), default=0),
        words=words.strip(),
    )
