"""How the knee answered to what was done, told at a visit."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from clinic.models import Visit
from clinic.models.base import SiteRecord

from .plan import Prescription


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


class SessionLog(SiteRecord):
    """What was done of one prescription since the visit before."""

    visit = models.ForeignKey(Visit, models.PROTECT, related_name="session_logs")
    prescription = models.ForeignKey(
        Prescription, models.PROTECT, related_name="session_logs"
    )
    sessions_done = models.PositiveSmallIntegerField(null=True, blank=True)
    sets_done = models.PositiveSmallIntegerField(null=True, blank=True)
    repetitions_over = models.SmallIntegerField(null=True, blank=True)
    pain_during = models.PositiveSmallIntegerField(null=True, blank=True)
    is_stopped_by_pain = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["visit", "prescription"], name="session_log_once"
            ),
            models.CheckConstraint(
                condition=Q(pain_during__isnull=True) | Q(pain_during__lte=10),
                name="session_log_pain_in_range",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.prescription} at {self.visit}"


class SuggestionChoice(SiteRecord):
    """What the clinician did with a suggestion; the suggestion is kept as shown."""

    class Choice(models.TextChoices):
        """Taken as it stood, taken with changes, or not taken."""

        ACCEPTED = "accepted", "Accepted"
        EDITED = "edited", "Accepted with changes"
        DECLINED = "declined", "Declined"

    prescription = models.ForeignKey(
        Prescription, models.PROTECT, related_name="suggestion_choices"
    )
    suggested_on = models.DateField()
    kind = models.CharField(max_length=20)
    rule = models.CharField(max_length=60)
    sentence = models.TextField()
    choice = models.CharField(max_length=8, choices=Choice.choices)
    words = models.CharField(max_length=300, blank=True)
    leads_to = models.ForeignKey(
        Prescription, models.PROTECT, null=True, blank=True, related_name="+"
    )
    chosen_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+"
    )
    chosen_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            # Serves: whether today's suggestion was answered already.
            models.UniqueConstraint(
                fields=["prescription", "suggested_on"], name="suggestion_answered_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_choice_display()}: {self.rule}"
