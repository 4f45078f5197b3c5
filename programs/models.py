"""How the knee answered to what was done."""

from django.db import models
from django.db.models import Q

from clinic.models import Visit
from clinic.models.base import SiteRecord


class NextMorning(models.TextChoices):
    """The knee on the morning after the last session (clinical reference 11.1)."""

    SETTLED = "settled", "Settled: back to usual"
    MILD_FLARE = "mild_flare", "Mild flare: up by 1"
    FLARE = "flare", "Flare: up by 2 or more, or not settled in 24 hours"


class SessionResponse(SiteRecord):
    """Pain during exercise and the knee on the morning after, told at a visit."""

    visit = models.OneToOneField(Visit, models.PROTECT, related_name="response")
    pain_during = models.PositiveSmallIntegerField(null=True, blank=True)
    next_morning = models.CharField(
        max_length=10, choices=NextMorning.choices, blank=True
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(pain_during__isnull=True) | Q(pain_during__lte=10),
                name="response_pain_in_range",
            ),
            models.CheckConstraint(
                condition=Q(next_morning__in=["", *NextMorning.values]),
                name="response_next_morning_known",
            ),
        ]

    def __str__(self) -> str:
        return f"Response at {self.visit}"
