"""Withdrawing a row: nothing is deleted; who, when and why stay on it and on record."""

from django.utils import timezone

from .audit import Action
from .models import AuditEvent, Episode, User
from .models.base import VoidableRecord


def void_row(row: VoidableRecord, *, by: User, why: str) -> None:
    """Withdraw one row; the act that calls it puts this on the record."""
    row.voided_at, row.voided_by, row.void_reason = timezone.now(), by, why
    row.save(update_fields=["voided_at", "voided_by", "void_reason"])


def void_on_record(
    row: VoidableRecord, *, by: User, why: str, action: Action, episode: Episode
) -> None:
    """Withdraw a row and add its audit line, in the transaction of the caller."""
    void_row(row, by=by, why=why)
    AuditEvent.objects.record(
        action, by=by, patient=episode.patient, row=row.pk, why=why
    )
