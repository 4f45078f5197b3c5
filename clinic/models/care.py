"""Patients, their episodes of care, and who covers them."""

from django.core.validators import MaxValueValidator
from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from ..querysets import CoverQuerySet, EpisodeQuerySet, PatientQuerySet
from .base import SiteRecord, VoidableRecord, voided_whole
from .people import User


class Side(models.TextChoices):
    """The index knee."""

    LEFT = "left", "Left knee"
    RIGHT = "right", "Right knee"


class Patient(SiteRecord):
    """A person in care, known by the clinic's own record number."""

    class Sex(models.TextChoices):
        """As the clinic records it."""

        FEMALE = "F", "Female"
        MALE = "M", "Male"
        OTHER = "X", "Another or not stated"

    class Told(models.TextChoices):
        """How the clinic learned what the person wishes."""

        IN_PERSON = "in person", "Told us in person"
        IN_WRITING = "in writing", "In writing"
        REPRESENTATIVE = "representative", "Through a parent or representative"
        REGISTER = "register", "Through a public register of such choices"

    record_number = models.CharField(max_length=40)
    family_name = models.CharField(max_length=120)
    given_name = models.CharField(max_length=120)
    birth_date = models.DateField()
    sex = models.CharField(max_length=1, choices=Sex.choices)
    # Who declines the use of their data for audit is left out of every shared total
    # and every export; earlier choices are on the audit trail.
    audit_declined_on = models.DateField(null=True, blank=True)
    audit_declined_how = models.CharField(
        max_length=14, choices=Told.choices, blank=True
    )
    created_at = models.DateTimeField(auto_now_add=True)

    objects = PatientQuerySet.as_manager()

    class Meta:
        constraints = [
            # Serves: find by number at admission and in the importer.
            models.UniqueConstraint(
                fields=["site", "record_number"], name="patient_number_unique"
            ),
            models.CheckConstraint(
                condition=Q(sex__in=["F", "M", "X"]), name="patient_sex_known"
            ),
            models.CheckConstraint(
                condition=Q(audit_declined_on__isnull=True, audit_declined_how="")
                | (Q(audit_declined_on__isnull=False) & ~Q(audit_declined_how="")),
                name="patient_audit_choice_whole",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.family_name}, {self.given_name}"

    def get_absolute_url(self) -> str:
        """Return the page that lists the person's episodes."""
        return reverse("outcomes:patient", args=[self.pk])


class Episode(VoidableRecord):
    """Care for one knee, from opening to discharge."""

    class Activity(models.TextChoices):
        """How much the knee is asked to do."""

        DAILY = "daily", "Daily life only"
        RECREATION = "recreation", "Recreational activity"
        SPORT = "sport", "Regular sport"
        COMPETITION = "competition", "Competitive sport"

    class Settling(models.TextChoices):
        """How long the knee takes to settle after it was provoked."""

        MINUTES = "minutes", "Within minutes"
        HOUR = "hour", "In an hour or so"
        DAY = "day", "Hours to a day"

    class Provoked(models.TextChoices):
        """What it takes to provoke the knee."""

        LIGHT = "light", "Light load"
        MODERATE = "moderate", "Moderate load"
        HEAVY = "heavy", "Heavy or long load"

    class Irritability(models.TextChoices):
        """The level that the clinician judges from the three facts."""

        LOW = "low", "Low"
        MODERATE = "moderate", "Moderate"
        HIGH = "high", "High"

    class Reason(models.TextChoices):
        """Why care ended (common practice, no source)."""

        GOALS_MET = "goals met", "Goals met"
        NO_FURTHER_BENEFIT = "no further benefit", "No further benefit"
        STOPPED_ATTENDING = "stopped attending", "Stopped attending"
        REFERRED_ON = "referred on", "Referred on"
        MOVED_AWAY = "moved away", "Moved away"
        OTHER = "other", "Other"

    patient = models.ForeignKey(Patient, models.PROTECT, related_name="episodes")
    side = models.CharField(max_length=5, choices=Side.choices)
    is_bilateral = models.BooleanField(default=False)
    symptom_onset_on = models.DateField()
    opened_on = models.DateField()
    clinician = models.ForeignKey(User, models.PROTECT, related_name="episodes")
    activity_level = models.CharField(
        max_length=12, choices=Activity.choices, blank=True
    )
    sport = models.CharField(max_length=120, blank=True)
    goals = models.TextField(blank=True)
    provoked_by = models.CharField(max_length=8, choices=Provoked.choices, blank=True)
    pain_when_provoked = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MaxValueValidator(10)]
    )
    settles_in = models.CharField(max_length=7, choices=Settling.choices, blank=True)
    irritability = models.CharField(
        max_length=8, choices=Irritability.choices, blank=True
    )
    primary_measure = models.CharField(max_length=20, default="akps")
    # Weeks after opening; empty means the site's own schedule.
    schedule_weeks = models.JSONField(default=list, blank=True)
    continues = models.ForeignKey(
        "self",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="recurrences",
        help_text="The earlier episode of the same knee, when this is a recurrence.",
    )
    discharged_on = models.DateField(null=True, blank=True)
    discharge_reason = models.CharField(
        max_length=20, choices=Reason.choices, blank=True
    )
    discharge_note = models.TextField(blank=True)
    created_at = models.DateTimeField(auto_now_add=True)
    version = models.PositiveIntegerField(default=1, editable=False)

    objects = EpisodeQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["patient", "side"],
                condition=Q(discharged_on__isnull=True, voided_at__isnull=True),
                name="episode_one_open_per_knee",
                violation_error_message="This knee already has an open episode.",
            ),
            models.CheckConstraint(
                condition=Q(side__in=Side.values), name="episode_side_known"
            ),
            models.CheckConstraint(
                condition=Q(symptom_onset_on__lte=F("opened_on")),
                name="episode_onset_before_opening",
            ),
            models.CheckConstraint(
                condition=Q(discharged_on__isnull=True, discharge_reason="")
                | (Q(discharged_on__gte=F("opened_on")) & ~Q(discharge_reason="")),
                name="episode_discharge_whole",
            ),
            models.CheckConstraint(
                condition=Q(pain_when_provoked__isnull=True)
                | Q(pain_when_provoked__lte=10),
                name="episode_pain_in_range",
            ),
            voided_whole("episode_voided_whole"),
        ]
        indexes = [
            # Serves: the caseload (open episodes of a site, or of a clinician).
            models.Index(
                fields=["site", "clinician"],
                condition=Q(discharged_on__isnull=True, voided_at__isnull=True),
                name="episode_caseload",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.patient}, {self.get_side_display().lower()}"

    def get_absolute_url(self) -> str:
        """Return the case page."""
        return reverse("outcomes:case", args=[self.pk])

    @property
    def is_open(self) -> bool:
        """Whether the case is in care."""
        return self.discharged_on is None and self.voided_at is None


class Cover(SiteRecord):
    """A colleague who treats a case while its clinician is away."""

    episode = models.ForeignKey(Episode, models.PROTECT, related_name="covers")
    covered_by = models.ForeignKey(User, models.PROTECT, related_name="covers")
    from_on = models.DateField()
    until_on = models.DateField()
    reason = models.CharField(max_length=200)
    arranged_by = models.ForeignKey(User, models.PROTECT, related_name="+")
    ended_at = models.DateTimeField(null=True, blank=True, editable=False)

    objects = CoverQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(until_on__gte=F("from_on")), name="cover_ends_after_start"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.covered_by} covers {self.episode} until {self.until_on}"
