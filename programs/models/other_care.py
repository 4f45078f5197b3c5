"""Other care that moves the numbers, so that a jump is not read as the programme's."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from clinic.models import Episode
from clinic.models.base import VoidableRecord, voided_whole


class OtherCare(VoidableRecord):
    """Something outside the programme that can change pain or function."""

    class What(models.TextChoices):
        """What it was."""

        INJECTION = "injection", "Injection"
        MEDICINE = "medicine", "Change of pain medicine"
        SURGERY = "surgery", "Surgery"
        TREATMENT = "treatment", "Other treatment"
        ILLNESS = "illness", "Illness"
        TRAINING = "training", "Change of training or work load"

    episode = models.ForeignKey(Episode, models.PROTECT, related_name="other_care")
    what = models.CharField(max_length=10, choices=What.choices)
    began_on = models.DateField()
    ended_on = models.DateField(null=True, blank=True)
    words = models.CharField(max_length=300)
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+"
    )
    recorded_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(ended_on__isnull=True) | Q(ended_on__gte=F("began_on")),
                name="other_care_ends_after_start",
            ),
            voided_whole("other_care_voided_whole"),
        ]
        indexes = [
            # Serves: marks on a case's course.
            models.Index(fields=["episode", "began_on"], name="other_care_of_episode"),
        ]

    def __str__(self) -> str:
        return f"{self.get_what_display()} from {self.began_on}"
