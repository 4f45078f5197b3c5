"""Acts that withdraw: a questionnaire, a visit, an episode opened by mistake.

Nothing is deleted; who, when and why stay on the row and on the record.
"""

from typing import Any

from django.db import transaction
from django.utils import timezone

from clinic import audit as clinic_audit
from clinic.audit import Action
from clinic.models import AuditEvent, Episode, User, Visit
from clinic.models.base import VoidableRecord
from clinic.versions import claim

from . import audit
from .models import Assessment, PainScore


def void_row(row: VoidableRecord, *, by: User, why: str) -> None:
    """Withdraw one row; the act that calls it puts this on the record."""
    row.voided_at, row.voided_by, row.void_reason = timezone.now(), by, why
    row.save(update_fields=["voided_at", "voided_by", "void_reason"])


def _void_on_record(
    row: Any, *, by: User, why: str, action: Action, episode: Episode
) -> None:
    void_row(row, by=by, why=why)
    AuditEvent.objects.record(
        action, by=by, patient=episode.patient, row=row.pk, why=why
    )


@transaction.atomic
def void_assessment(assessment: Assessment, *, by: User, why: str) -> None:
    """Withdraw an assessment from every page, keeping it on record."""
    _void_on_record(
        assessment,
        by=by,
        why=why,
        action=audit.ASSESSMENT_VOIDED,
        episode=assessment.episode,
    )


@transaction.atomic
def void_visit(visit: Visit, *, by: User, why: str, version: int) -> None:
    """Withdraw a visit and all that was told and measured at it."""
    claim(visit, version)
    for parts in (visit.assessments, visit.screens, visit.physical_results):
        for part in parts.standing():
            void_row(part, by=by, why=why)
    for pain in PainScore.objects.standing().filter(visit=visit):
        void_row(pain, by=by, why=why)
    _void_on_record(
        visit,
        by=by,
        why=why,
        action=clinic_audit.VISIT_VOIDED,
        episode=visit.episode,
    )


@transaction.atomic
def void_episode(episode: Episode, *, by: User, why: str, version: int) -> None:
    """Withdraw an episode that was opened by mistake; it must hold no visits."""
    claim(episode, version)
    _void_on_record(
        episode,
        by=by,
        why=why,
        action=clinic_audit.EPISODE_VOIDED,
        episode=episode,
    )
