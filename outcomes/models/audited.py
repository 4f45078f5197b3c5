"""What the review of a whole caseload keeps: changes, frozen references, exports."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from clinic.models import Episode, Patient
from clinic.models.base import SiteRecord, VoidableRecord, voided_whole


class ClinicChange(VoidableRecord):
    """Something that changed in the clinic on a day, drawn on the figures over time."""

    happened_on = models.DateField()
    words = models.CharField(max_length=120)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [voided_whole("clinic_change_voided_whole")]
        indexes = [
            # Serves: the changes of a site, drawn in order of time.
            models.Index(fields=["site", "happened_on"], name="clinic_change_of_site"),
        ]

    def __str__(self) -> str:
        return f"{self.happened_on}: {self.words}"


class FrozenReference(SiteRecord):
    """A stretch of time that later ones are held against; replaced, never edited."""

    # What is held against it, such as "share-reached" or "model akps".
    subject = models.CharField(max_length=60)
    from_on = models.DateField()
    until_on = models.DateField()
    # The numbers as they were on the day of declaring; they no longer move.
    numbers = models.JSONField()
    why = models.CharField(max_length=300)
    declared_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+"
    )
    declared_at = models.DateTimeField(auto_now_add=True)
    retired_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        constraints = [
            # Serves: the reference in force for one figure.
            models.UniqueConstraint(
                fields=["site", "subject"],
                condition=Q(retired_at__isnull=True),
                name="frozen_reference_one_in_force",
            ),
            models.CheckConstraint(
                condition=Q(until_on__gt=F("from_on")),
                name="frozen_reference_ends_later",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.subject}, {self.from_on} to {self.until_on}"


class AuditExport(SiteRecord):
    """One de-identified export: to whom, why, by which rule, and what it held."""

    class State(models.TextChoices):
        """How far the writing of the file came."""

        WRITING = "writing", "Being written"
        COMPLETE = "complete", "Complete"
        STOPPED = "stopped", "Stopped before its end"

    recipient = models.CharField(max_length=200)
    purpose = models.CharField(max_length=500)
    legal_basis = models.CharField(max_length=300)
    destroy_by_on = models.DateField()
    from_on = models.DateField()
    until_on = models.DateField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)
    state = models.CharField(max_length=8, choices=State.choices, default=State.WRITING)
    ended_at = models.DateTimeField(null=True, blank=True, editable=False)
    # What was done to the data and how many rows each file holds; see the manifest.
    manifest = models.JSONField(default=dict)
    sha256 = models.CharField(max_length=64, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(until_on__gte=F("from_on")), name="audit_export_period"
            ),
            models.CheckConstraint(
                condition=Q(state__in=["writing", "complete", "stopped"]),
                name="audit_export_state_known",
            ),
        ]
        indexes = [
            # Serves: the list of exports, newest first.
            models.Index(fields=["site", "-made_at"], name="audit_export_of_site"),
        ]

    def __str__(self) -> str:
        return f"{self.recipient}, {self.made_at:%Y-%m-%d}"


class ExportedCase(SiteRecord):
    """That an episode left in an export; its key there is wiped once it is written."""

    export = models.ForeignKey(AuditExport, models.PROTECT, related_name="cases")
    episode = models.ForeignKey(Episode, models.PROTECT, related_name="+")
    patient = models.ForeignKey(Patient, models.PROTECT, related_name="+")
    # Drawn at random for this export; empty once the file is complete.
    key = models.CharField(max_length=22, blank=True)
    # The generalised values that the file shows; empty once the file is complete.
    shown = models.JSONField(default=dict)

    class Meta:
        constraints = [
            # Serves: the overlap of two exports.
            models.UniqueConstraint(
                fields=["export", "episode"], name="exported_case_once"
            ),
        ]
        indexes = [
            # Serves: the rows of a file in the order of their random keys.
            models.Index(fields=["export", "key"], name="exported_case_by_key"),
            # Serves: whom two exports share, and who is in one of them only.
            models.Index(fields=["export", "patient"], name="exported_case_person"),
        ]

    def __str__(self) -> str:
        return f"{self.episode} in {self.export}"
