"""What happened and who did it: the audit trail, and forms already received."""

import secrets
from collections.abc import Iterable
from typing import Any

from django.db import models, transaction
from django.utils import timezone

from ..audit import Action
from ..querysets import SiteQuerySet
from ..request_names import request_name
from ..sealing import NOTHING_BEFORE, digest_of, hash_of
from .base import SiteRecord
from .care import Patient
from .people import Site, User


class ChainQuerySet(models.QuerySet[Any]):
    """The heads of the chains."""

    def locked(self, site_id: int | None) -> "AuditChain":
        """Return the chain of a site until the transaction ends; others wait for it.

        On SQLite the transaction itself is the lock.
        """
        chains = self.select_for_update(no_key=True)
        found: AuditChain | None = chains.filter(site_id=site_id).first()
        return found or chains.get_or_create(site_id=site_id)[0]


class AuditChain(models.Model):
    """The head of one site's chain of lines: the second place where it stands.

    One chain for each site, so that the writers of one clinic never wait for those
    of another, and a clinic can keep the head of its own. The chain without a site
    holds what belongs to none.
    """

    site = models.OneToOneField(Site, models.PROTECT, null=True, related_name="+")
    length = models.PositiveBigIntegerField(default=0)
    head = models.CharField(max_length=64, default=NOTHING_BEFORE)

    objects = ChainQuerySet.as_manager()

    def __str__(self) -> str:
        return f"{self.site or 'no site'}: {self.length} lines"

    def seal(self, line: "AuditEvent") -> None:
        """Give a line its place after the head, and move the head."""
        self.length += 1
        line.chain, line.position, line.previous = self, self.length, self.head
        line.salt = secrets.token_hex(16)
        line.digest = digest_of(line)
        line.hash = self.head = hash_of(line)


class AuditQuerySet(SiteQuerySet):
    """The audit trail; rows are added by name and never changed."""

    def record(
        self,
        action: Action,
        *,
        by: User | None,
        patient: Patient | None = None,
        request_id: str = "",
        **detail: Any,
    ) -> "AuditEvent":
        """Add one line, inside the transaction of the act that it describes.

        Without a person the line belongs to no site.
        """
        line = new_line(
            action, by=by, patient=patient, request_id=request_id, detail=detail
        )
        with transaction.atomic(savepoint=False):
            chain = AuditChain.objects.locked(line.site_id)
            chain.seal(line)
            made: AuditEvent = self.create(
                **{name: getattr(line, name) for name in KEPT}
            )
            chain.save(update_fields=["length", "head"])
        return made

    @transaction.atomic(savepoint=False)
    def record_all(self, lines: Iterable["AuditEvent"], *, by: User) -> None:
        """Add many lines of one person's act in their order, in few queries."""
        chain, sealed = AuditChain.objects.locked(by.site_id), list(lines)
        for line in sealed:
            chain.seal(line)
        self.bulk_create(sealed, batch_size=2_000)
        chain.save(update_fields=["length", "head"])


class AuditEvent(SiteRecord):
    """One line of the audit trail; a database trigger refuses change and removal."""

    site = models.ForeignKey(  # type: ignore[assignment]
        Site, models.PROTECT, null=True, related_name="+"
    )
    action = models.CharField(max_length=40)
    at = models.DateTimeField()
    by = models.ForeignKey(User, models.PROTECT, null=True, related_name="+")
    by_name = models.CharField(max_length=300)
    patient = models.ForeignKey(
        Patient, models.PROTECT, null=True, related_name="audit_events"
    )
    request_id = models.CharField(max_length=36, blank=True)
    detail = models.JSONField(default=dict)
    chain = models.ForeignKey(AuditChain, models.PROTECT, related_name="lines")
    position = models.PositiveBigIntegerField()
    previous = models.CharField(max_length=64)
    salt = models.CharField(max_length=32)
    digest = models.CharField(max_length=64)
    hash = models.CharField(max_length=64)

    objects = AuditQuerySet.as_manager()

    class Meta:
        constraints = [
            # Serves: reading a chain in its order; a place is taken once.
            models.UniqueConstraint(
                fields=["chain", "position"], name="audit_place_taken_once"
            ),
        ]
        indexes = [
            # Serves: what was done to one patient's record, newest first.
            models.Index(fields=["patient", "-at"], name="audit_of_patient"),
        ]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.by_name}: {self.action}"


KEPT = [
    field.attname for field in AuditEvent._meta.concrete_fields if not field.primary_key
]


def new_line(
    action: Action,
    *,
    by: User | None,
    patient: Patient | None = None,
    request_id: str = "",
    detail: dict[str, Any],
) -> AuditEvent:
    """Return a line that has no place yet."""
    return AuditEvent(
        action=action.code,
        at=timezone.now(),
        site_id=by.site_id if by else None,
        by=by,
        by_name=str(by) if by else "somebody unknown",
        patient=patient,
        request_id=request_id or request_name(),
        detail=detail,
    )


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
