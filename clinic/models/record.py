"""What happened and who did it: the audit trail, and forms already received."""

from typing import Any

from django.db import models

from ..audit import Action
from ..querysets import SiteQuerySet
from .base import SiteRecord
from .care import Patient
from .people import User


class AuditQuerySet(SiteQuerySet):
    """The audit trail; rows are added by name and never changed."""

    def record(
        self,
        action: Action,
        *,
        by: User,
        patient: Patient | None = None,
        request_id: str = "",
        **detail: Any,
    ) -> "AuditEvent":
        """Add one line, inside the transaction of the act that it describes."""
        return self.create(
            action=action.code,
            site_id=by.site_id,
            by=by,
            by_name=str(by),
            patient=patient,
            request_id=request_id,
            detail=detail,
        )


class AuditEvent(SiteRecord):
    """One line of the audit trail; a database trigger refuses change and removal."""

    action = models.CharField(max_length=40)
    at = models.DateTimeField(auto_now_add=True)
    by = models.ForeignKey(User, models.PROTECT, related_name="+")
    by_name = models.CharField(max_length=300)
    patient = models.ForeignKey(
        Patient, models.PROTECT, null=True, related_name="audit_events"
    )
    request_id = models.CharField(max_length=36, blank=True)
    detail = models.JSONField(default=dict)

    objects = AuditQuerySet.as_manager()

    class Meta:
        indexes = [
            # Serves: what was done to one patient's record, newest first.
            models.Index(fields=["patient", "-at"], name="audit_of_patient"),
        ]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.by_name}: {self.action}"


class Submission(models.Model):
    """A form that was received, so that a repeat of it changes nothing."""

    by = models.ForeignKey(User, models.CASCADE, related_name="+")
    key = models.UUIDField()
    fingerprint = models.CharField(max_length=64)
    outcome = models.CharField(max_length=200, blank=True)
    received_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            # Serves: looking up a repeated form.
            models.UniqueConstraint(fields=["by", "key"], name="submission_once"),
        ]

    def __str__(self) -> str:
        return f"{self.key}"
