"""What happens in an episode: visits, red-flag screens, contact attempts."""

from django.db import models
from django.db.models import F, Q

from .base import SiteRecord, VoidableRecord, voided_whole
from .care import Episode
from .people import User


class Visit(VoidableRecord):
    """One appointment of an episode: attended or not."""

    class Attendance(models.TextChoices):
        """What became of the appointment."""

        ATTENDED = "attended", "Attended"
        DID_NOT_ATTEND = "did_not_attend", "Did not attend"
        CANCELLED = "cancelled", "Cancelled"

    episode = models.ForeignKey(Episode, models.PROTECT, related_name="visits")
    visited_on = models.DateField()
    attendance = models.CharField(max_length=14, choices=Attendance.choices)
    clinician = models.ForeignKey(User, models.PROTECT, related_name="visits")
    note = models.TextField(blank=True)
    next_planned_on = models.DateField(null=True, blank=True)
    recorded_at = models.DateTimeField(auto_now_add=True)
    version = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        constraints = [
            # Serves: the visits of a case in order of time.
            models.UniqueConstraint(
                fields=["episode", "visited_on"],
                condition=Q(voided_at__isnull=True),
                name="visit_one_per_day",
                violation_error_message="This case already has a visit on that day.",
            ),
            models.CheckConstraint(
                condition=Q(attendance__in=["attended", "did_not_attend", "cancelled"]),
                name="visit_attendance_known",
            ),
            models.CheckConstraint(
                condition=Q(next_planned_on__isnull=True)
                | Q(next_planned_on__gt=F("visited_on")),
                name="visit_next_is_later",
            ),
            voided_whole("visit_voided_whole"),
        ]

    def __str__(self) -> str:
        return f"{self.episode} on {self.visited_on}"

    @property
    def was_attended(self) -> bool:
        """Whether the patient came."""
        return self.attendance == self.Attendance.ATTENDED


class Screen(VoidableRecord):
    """Answers to the red-flag checklist, and the clinician's decision on them."""

    class Form(models.TextChoices):
        """Which checklist was asked."""

        FULL = "full", "Full screen"
        SHORT = "short", "Short screen"

    episode = models.ForeignKey(Episode, models.PROTECT, related_name="screens")
    visit = models.ForeignKey(
        Visit, models.PROTECT, null=True, blank=True, related_name="screens"
    )
    form = models.CharField(max_length=5, choices=Form.choices)
    edition = models.PositiveSmallIntegerField()
    # {concern key: true | false}; written once, read whole.
    answers = models.JSONField()
    is_positive = models.BooleanField()
    answered_on = models.DateField()
    answered_by = models.ForeignKey(User, models.PROTECT, related_name="+")
    decision = models.TextField(blank=True)
    decided_at = models.DateTimeField(null=True, blank=True, editable=False)
    decided_by = models.ForeignKey(
        User, models.PROTECT, null=True, blank=True, editable=False, related_name="+"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(decided_at__isnull=True, decision="")
                | (Q(decided_at__isnull=False) & ~Q(decision="")),
                name="screen_decision_whole",
            ),
            voided_whole("screen_voided_whole"),
        ]
        indexes = [
            # Serves: the undecided positive answers of a caseload.
            models.Index(fields=["episode", "answered_on"], name="screen_of_episode"),
        ]

    def __str__(self) -> str:
        return f"{self.get_form_display()} of {self.episode} on {self.answered_on}"


class ContactAttempt(SiteRecord):
    """One try to reach a patient who was missed or is overdue."""

    class Way(models.TextChoices):
        """How it was tried."""

        CALL = "call", "Telephone call"
        MESSAGE = "message", "Text message"
        EMAIL = "email", "E-mail"
        LETTER = "letter", "Letter"
        IN_PERSON = "in person", "In person"

    class Result(models.TextChoices):
        """What came of it."""

        REACHED = "reached", "Reached, coming back"
        DECLINED = "declined", "Reached, does not wish to come"
        LEFT_WORD = "left word", "Left a message"
        NO_ANSWER = "no answer", "No answer"

    episode = models.ForeignKey(Episode, models.PROTECT, related_name="contacts")
    tried_on = models.DateField()
    way = models.CharField(max_length=9, choices=Way.choices)
    result = models.CharField(max_length=9, choices=Result.choices)
    note = models.CharField(max_length=300, blank=True)
    by = models.ForeignKey(User, models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        indexes = [
            # Serves: the contact log of a case, newest first.
            models.Index(fields=["episode", "-tried_on"], name="contact_of_episode"),
        ]

    def __str__(self) -> str:
        return f"{self.get_way_display()} on {self.tried_on}"
