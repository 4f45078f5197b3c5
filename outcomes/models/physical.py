"""What a physical test gave: one row for each side and day."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from clinic.models import Episode, Patient, Side, Visit
from clinic.models.base import VoidableRecord, voided_whole
from clinic.templatetags.clinic_format import day

from ..physical_querysets import PhysicalResultQuerySet


class PhysicalResult(VoidableRecord):
    """One side of one test on one day; a mistake is voided and entered again."""

    episode = models.ForeignKey(
        Episode, models.PROTECT, related_name="physical_results"
    )
    visit = models.ForeignKey(
        Visit,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="physical_results",
    )
    # Copied from the episode: a limb has one result a day, in whichever episode.
    patient = models.ForeignKey(Patient, models.PROTECT, related_name="+")
    test = models.CharField(max_length=30)
    edition = models.PositiveSmallIntegerField()
    tested_on = models.DateField()
    # Empty for a test of the person as a whole.
    side = models.CharField(max_length=5, choices=Side.choices, blank=True)
    # As typed, in `unit`: [{"value": 21.5, "is_stopped_by_pain": false}, ...]
    trials = models.JSONField()
    unit = models.CharField(max_length=12)
    lever_arm_m = models.FloatField(null=True, blank=True)
    body_kg = models.FloatField(null=True, blank=True)
    pain = models.PositiveSmallIntegerField(null=True, blank=True)
    done_how = models.CharField(max_length=300, blank=True)
    # In the unit of the test itself, which for a force is N.
    value = models.FloatField(null=True)
    no_value_reason = models.CharField(max_length=300, blank=True)
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+"
    )
    recorded_at = models.DateTimeField(auto_now_add=True)

    # As for the other models, mypy takes the narrower manager for an instance's own.
    objects = PhysicalResultQuerySet.as_manager()

    class Meta:
        constraints = [
            # Serves: the course of one test of a case, in order of time.
            models.UniqueConstraint(
                fields=["patient", "test", "side", "tested_on"],
                condition=Q(voided_at__isnull=True),
                name="physical_one_a_side_and_day",
            ),
            models.CheckConstraint(
                condition=Q(value__isnull=False, no_value_reason="")
                | (Q(value__isnull=True) & ~Q(no_value_reason="")),
                name="physical_value_or_reason",
            ),
            models.CheckConstraint(
                condition=Q(pain__isnull=True) | Q(pain__lte=10),
                name="physical_pain_in_range",
            ),
            voided_whole("physical_voided_whole"),
        ]

    def __str__(self) -> str:
        return f"{self.test} {self.side} on {day(self.tested_on)}"
