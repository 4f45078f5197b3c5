"""Acts on people and episodes: admit, open, hand over, cover, discharge, void."""

from datetime import date
from typing import Any

from django.db import transaction
from django.utils import timezone

from . import audit
from .models import AuditEvent, ContactAttempt, Cover, Episode, Patient, User
from .screening import require_decisions
from .versions import claim


@transaction.atomic
def admit_patient(*, by: User, **details: Any) -> Patient:
    """Add a person to the site of whoever admits them."""
    patient = Patient.objects.create(site=by.site, **details)
    AuditEvent.objects.record(audit.PATIENT_ADMITTED, by=by, patient=patient)
    return patient


@transaction.atomic
def change_patient(patient: Patient, *, by: User, changes: dict[str, Any]) -> Patient:
    """Change details of a person, keeping before and after on record."""
    patient.refresh_from_db()
    before = {name: str(getattr(patient, name)) for name in changes}
    for name, value in changes.items():
        setattr(patient, name, value)
    patient.save(update_fields=list(changes))
    AuditEvent.objects.record(
        audit.PATIENT_CHANGED,
        by=by,
        patient=patient,
        before=before,
        after={name: str(value) for name, value in changes.items()},
    )
    return patient


def earlier_episode(patient: Patient, side: str) -> Episode | None:
    """Return the last discharged episode of a knee; runs one query."""
    ended = Episode.objects.standing().filter(
        patient=patient, side=side, discharged_on__isnull=False
    )
    return ended.order_by("-opened_on").first()


@transaction.atomic
def open_episode(
    *, patient: Patient, by: User, clinician: User, **details: Any
) -> Episode:
    """Open care for one knee; a later episode of a knee continues the one before."""
    details.setdefault("continues", earlier_episode(patient, details["side"]))
    episode = Episode.objects.create(
        site_id=patient.site_id, patient=patient, clinician=clinician, **details
    )
    AuditEvent.objects.record(
        audit.EPISODE_OPENED, by=by, patient=patient, episode=episode.pk
    )
    return episode


@transaction.atomic
def change_episode(
    episode: Episode, *, by: User, version: int, changes: dict[str, Any]
) -> Episode:
    """Change details of an episode, keeping before and after on record."""
    claim(episode, version)
    before = {name: str(getattr(episode, name)) for name in changes}
    for name, value in changes.items():
        setattr(episode, name, value)
    episode.save(update_fields=list(changes))
    AuditEvent.objects.record(
        audit.EPISODE_CHANGED,
        by=by,
        patient=episode.patient,
        episode=episode.pk,
        before=before,
        after={name: str(value) for name, value in changes.items()},
    )
    return episode


@transaction.atomic
def discharge(
    episode: Episode, *, by: User, on: date, reason: str, note: str, version: int
) -> None:
    """End the episode; its record stays.

    Raises UndecidedRedFlag while a positive red-flag answer awaits its decision.
    """
    require_decisions(episode)
    claim(episode, version)
    episode.discharged_on = on
    episode.discharge_reason = reason
    episode.discharge_note = note
    episode.save(update_fields=["discharged_on", "discharge_reason", "discharge_note"])
    AuditEvent.objects.record(
        audit.EPISODE_DISCHARGED,
        by=by,
        patient=episode.patient,
        episode=episode.pk,
        on=on.isoformat(),
        reason=reason,
        note=note,
    )


@transaction.atomic
def take_back_discharge(episode: Episode, *, by: User, why: str, version: int) -> None:
    """Put a case back in care after a discharge made by mistake."""
    claim(episode, version)
    before = f"{episode.discharged_on}: {episode.discharge_reason}"
    episode.discharged_on = None
    episode.discharge_reason = ""
    episode.save(update_fields=["discharged_on", "discharge_reason"])
    AuditEvent.objects.record(
        audit.EPISODE_REOPENED,
        by=by,
        patient=episode.patient,
        episode=episode.pk,
        before=before,
        why=why,
    )


@transaction.atomic
def hand_over(
    episode: Episode, *, by: User, to: User, reason: str, version: int
) -> None:
    """Make another clinician responsible for the case."""
    claim(episode, version)
    before = str(episode.clinician)
    episode.clinician = to
    episode.save(update_fields=["clinician"])
    AuditEvent.objects.record(
        audit.CASE_TRANSFERRED,
        by=by,
        patient=episode.patient,
        episode=episode.pk,
        before=before,
        after=str(to),
        reason=reason,
    )


@transaction.atomic
def cover_case(
    episode: Episode,
    *,
    by: User,
    covered_by: User,
    from_on: date,
    until_on: date,
    reason: str,
) -> Cover:
    """Let a colleague treat the case between two days, both included."""
    cover = Cover.objects.create(
        site_id=episode.site_id,
        episode=episode,
        covered_by=covered_by,
        from_on=from_on,
        until_on=until_on,
        reason=reason,
        arranged_by=by,
    )
    AuditEvent.objects.record(
        audit.CASE_COVERED,
        by=by,
        patient=episode.patient,
        episode=episode.pk,
        covered_by=str(covered_by),
        until=until_on.isoformat(),
        reason=reason,
    )
    return cover


@transaction.atomic
def end_cover(cover: Cover, *, by: User) -> None:
    """End a cover before its last day."""
    cover.ended_at = timezone.now()
    cover.save(update_fields=["ended_at"])
    AuditEvent.objects.record(
        audit.COVER_ENDED,
        by=by,
        patient=cover.episode.patient,
        episode=cover.episode_id,
        covered_by=str(cover.covered_by),
    )


@transaction.atomic
def log_contact(episode: Episode, *, by: User, **details: Any) -> ContactAttempt:
    """Keep one try to reach the patient."""
    attempt = ContactAttempt.objects.create(
        site_id=episode.site_id, episode=episode, by=by, **details
    )
    AuditEvent.objects.record(
        audit.CONTACT_LOGGED, by=by, patient=episode.patient, episode=episode.pk
    )
    return attempt
