"""Letters about a case, kept as they were sent."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from clinic.models import Episode
from clinic.models.base import VoidableRecord, voided_whole


class Letter(VoidableRecord):
    """A letter drafted from the record: edited while it is a draft, then kept."""

    class Kind(models.TextChoices):
        """To whom it speaks, and when."""

        PROGRESS = "progress", "Progress letter to the referrer"
        DISCHARGE = "discharge", "Discharge letter to the referrer"
        SUMMARY = "summary", "Summary for the patient"

    episode = models.ForeignKey(Episode, models.PROTECT, related_name="letters")
    kind = models.CharField(max_length=9, choices=Kind.choices)
    addressed_to = models.CharField(max_length=300, blank=True)
    written_on = models.DateField()
    # Headed paragraphs: {"parts": [{"heading": str, "text": str}, …]}.
    body = models.JSONField()
    drafted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+"
    )
    drafted_at = models.DateTimeField(auto_now_add=True)
    signed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        editable=False,
        related_name="+",
    )
    signed_at = models.DateTimeField(null=True, blank=True, editable=False)
    # Name as it stood under the letter on the day it was signed.
    signed_name = models.CharField(max_length=300, blank=True, editable=False)
    version = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(
                    signed_at__isnull=True, signed_by__isnull=True, signed_name=""
                )
                | (
                    Q(signed_at__isnull=False, signed_by__isnull=False)
                    & ~Q(signed_name="")
                ),
                name="letter_signature_whole",
            ),
            voided_whole("letter_voided_whole"),
        ]
        indexes = [
            # Serves: the letters of a case, newest first.
            models.Index(fields=["episode", "-written_on"], name="letter_of_episode"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of {self.written_on}"
