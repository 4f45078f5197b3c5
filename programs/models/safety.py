"""What stands before blood-flow restriction, and what went wrong."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from clinic.models import Episode
from clinic.models.base import VoidableRecord, voided_whole

from .plan import Prescription


class FlowScreen(VoidableRecord):
    """The screen before exercise with blood-flow restriction, signed by a clinician.

    A contraindication has no override: clearance is a new screen that names the
    physician and the answer.
    """

    episode = models.ForeignKey(Episode, models.PROTECT, related_name="flow_screens")
    edition = models.PositiveSmallIntegerField()
    answered_on = models.DateField()
    # {question key: "yes" | "no" | "cleared"}; written once, read whole.
    answers = models.JSONField()
    decision = models.TextField(blank=True)
    physician = models.CharField(max_length=120, blank=True)
    physician_answer = models.TextField(blank=True)
    physician_answered_on = models.DateField(null=True, blank=True)
    # The day of the earlier screen that a contraindication had stopped.
    stopped_on = models.DateField(null=True, blank=True)
    signed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+"
    )
    signed_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(
                    physician="",
                    physician_answer="",
                    physician_answered_on__isnull=True,
                    stopped_on__isnull=True,
                )
                | (
                    ~Q(physician="")
                    & ~Q(physician_answer="")
                    & Q(physician_answered_on__isnull=False, stopped_on__isnull=False)
                ),
                name="flow_screen_clearance_whole",
            ),
            voided_whole("flow_screen_voided_whole"),
        ]
        indexes = [
            # Serves: the newest screen of a case.
            models.Index(
                fields=["episode", "-answered_on"], name="flow_screen_of_episode"
            ),
        ]

    def __str__(self) -> str:
        return f"Flow-restriction screen of {self.episode} on {self.answered_on}"


class AdverseEvent(VoidableRecord):
    """Something that went wrong during or after treatment."""

    episode = models.ForeignKey(Episode, models.PROTECT, related_name="adverse_events")
    prescription = models.ForeignKey(
        Prescription, models.PROTECT, null=True, blank=True, related_name="events"
    )
    happened_on = models.DateField()
    is_during_flow_restriction = models.BooleanField(default=False)
    what = models.TextField()
    done = models.TextField(help_text="What was done about it, and who was told.")
    reported_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+"
    )
    recorded_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [voided_whole("adverse_event_voided_whole")]
        indexes = [
            # Serves: whether a screen still holds after the latest event.
            models.Index(fields=["episode", "-happened_on"], name="event_of_episode"),
        ]

    def __str__(self) -> str:
        return f"Adverse event on {self.happened_on}"
