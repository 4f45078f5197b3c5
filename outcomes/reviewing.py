"""The act of deciding on a flagged case."""

from datetime import date

from django.db import transaction

from clinic.models import AuditEvent, Episode, User

from . import audit
from .models import CaseReview


@transaction.atomic
def review_case(
    episode: Episode,
    *,
    by: User,
    on: date,
    decision: str,
    why: str,
    look_again_on: date,
    findings: list[str],
) -> CaseReview:
    """Keep a decision; the findings that were seen rest until the day to look again."""
    review = CaseReview.objects.create(
        site_id=episode.site_id,
        episode=episode,
        reviewed_on=on,
        decision=decision,
        why=why,
        look_again_on=look_again_on,
        findings=findings,
        by=by,
    )
    AuditEvent.objects.record(
        audit.CASE_REVIEWED,
        by=by,
        patient=episode.patient,
        review=review.pk,
        decision=decision,
        look_again_on=look_again_on.isoformat(),
    )
    return review
