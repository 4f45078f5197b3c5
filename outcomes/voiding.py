"""Acts that withdraw: a questionnaire, a visit, an episode opened by mistake.

Nothing is deleted; who, when and why stay on the row and on the record.
"""

from django.db import transaction

from clinic import audit as clinic_audit
from clinic.models import Episode, User, Visit
from clinic.versions import claim
from clinic.voiding import void_on_record, void_row

from . import audit
from .models import Assessment, PainScore


@transaction.atomic
def void_assessment(assessment: Assessment, *, by: User, why: str) -> None:
    """Withdraw an assessment from every page, keeping it on record."""
    void_on_record(
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
    void_on_record(
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
    void_on_record(
        episode,
        by=by,
        why=why,
        action=clinic_audit.EPISODE_VOIDED,
        episode=episode,
    )
