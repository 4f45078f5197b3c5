"""What was measured, and the wording it was asked in."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from clinic.models import Episode, Patient, Visit
from clinic.models.base import SiteRecord, VoidableRecord, voided_whole

from ..querysets import AssessmentQuerySet

PAIN_KINDS = ("worst", "usual", "stairs", "squatting", "sitting", "running")


def in_range(kind: str) -> Q:
    """Return the condition that a pain column is empty or 0 to 10."""
    return Q(**{f"{kind}__isnull": True}) | Q(**{f"{kind}__lte": 10})


class Wording(SiteRecord):
    """Question texts that a clinic installed and says it may use."""

    measure = models.CharField(max_length=20)
    edition = models.PositiveSmallIntegerField()
    language = models.CharField(max_length=12, default="en")
    name = models.CharField(max_length=120)
    permission = models.TextField(help_text="Who permits the use, in words.")
    is_demonstration = models.BooleanField(default=False)
    # {"intro": str, "items": {item: {"prompt": str, "options": {code: str}}}}
    texts = models.JSONField()
    installed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+"
    )
    installed_at = models.DateTimeField(auto_now_add=True)
    retired_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["site", "measure", "language"],
                condition=Q(retired_at__isnull=True),
                name="wording_one_in_use",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} ({self.measure}, {self.language})"


class Activity(SiteRecord):
    """An activity in the patient's own words, rated again at each PSFS."""

    patient = models.ForeignKey(Patient, models.PROTECT, related_name="activities")
    number = models.PositiveSmallIntegerField()
    words = models.CharField(max_length=200)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["patient", "number"], name="activity_number_unique"
            ),
            models.UniqueConstraint(
                fields=["patient", "words"], name="activity_words_unique"
            ),
        ]

    def __str__(self) -> str:
        return self.words


class Assessment(VoidableRecord):
    """One questionnaire or rating on one day; corrected by a new row, never edited."""

    class Mode(models.TextChoices):
        """How the answers were given."""

        ALONE = "alone", "Answered alone"
        READ_ALOUD = "read aloud", "Read aloud by staff"
        INTERPRETER = "interpreter", "With an interpreter"
        PROXY = "proxy", "Answered for the patient"
        PAPER = "paper", "Copied from paper"
        UNKNOWN = "unknown", "Not recorded"

    episode = models.ForeignKey(Episode, models.PROTECT, related_name="assessments")
    visit = models.ForeignKey(
        Visit, models.PROTECT, null=True, blank=True, related_name="assessments"
    )
    # Copied from the episode, so that a person's measure can be unique per day.
    patient = models.ForeignKey(Patient, models.PROTECT, related_name="+")
    measure = models.CharField(max_length=20)
    edition = models.PositiveSmallIntegerField()
    is_of_person = models.BooleanField()
    assessed_on = models.DateField()
    answers = models.JSONField()
    score = models.FloatField(null=True)
    no_score_reason = models.CharField(max_length=300, blank=True)
    mode = models.CharField(max_length=12, choices=Mode.choices)
    language = models.CharField(max_length=12, default="en")
    wording = models.ForeignKey(
        Wording, models.PROTECT, null=True, blank=True, related_name="+"
    )
    replaces = models.OneToOneField(
        "self", models.PROTECT, null=True, blank=True, related_name="replaced_by"
    )
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+"
    )
    recorded_at = models.DateTimeField(auto_now_add=True)

    objects = AssessmentQuerySet.as_manager()

    class Meta:
        constraints = [
            # Serves: the course of one measure of a case.
            models.UniqueConstraint(
                fields=["episode", "measure", "assessed_on"],
                condition=Q(voided_at__isnull=True, is_of_person=False),
                name="assessment_one_per_day",
            ),
            # Serves: a person's measures, shown in the episodes of both knees.
            models.UniqueConstraint(
                fields=["patient", "measure", "assessed_on"],
                condition=Q(voided_at__isnull=True, is_of_person=True),
                name="assessment_of_person_one_per_day",
            ),
            models.CheckConstraint(
                condition=Q(score__isnull=False, no_score_reason="")
                | (Q(score__isnull=True) & ~Q(no_score_reason="")),
                name="assessment_score_or_reason",
            ),
            voided_whole("assessment_voided_whole"),
        ]

    def __str__(self) -> str:
        return f"{self.measure} of {self.episode} on {self.assessed_on}"


class PainScore(VoidableRecord):
    """Pain 0 to 10 on one day: the last week, and during activities."""

    episode = models.ForeignKey(Episode, models.PROTECT, related_name="pain_scores")
    visit = models.OneToOneField(
        Visit, models.PROTECT, null=True, blank=True, related_name="pain"
    )
    rated_on = models.DateField()
    worst = models.PositiveSmallIntegerField(null=True, blank=True)
    usual = models.PositiveSmallIntegerField(null=True, blank=True)
    stairs = models.PositiveSmallIntegerField(null=True, blank=True)
    squatting = models.PositiveSmallIntegerField(null=True, blank=True)
    sitting = models.PositiveSmallIntegerField(null=True, blank=True)
    running = models.PositiveSmallIntegerField(null=True, blank=True)

    class Meta:
        constraints = [
            # Serves: the pain panel of a case in order of time.
            models.UniqueConstraint(
                fields=["episode", "rated_on"],
                condition=Q(voided_at__isnull=True),
                name="pain_one_per_day",
            ),
            *[
                models.CheckConstraint(
                    condition=in_range(kind), name=f"pain_{kind}_in_range"
                )
                for kind in PAIN_KINDS
            ],
            voided_whole("pain_voided_whole"),
        ]

    def __str__(self) -> str:
        return f"Pain of {self.episode} on {self.rated_on}"

    def values(self) -> dict[str, int | None]:
        """Return the six ratings by kind."""
        return {kind: getattr(self, kind) for kind in PAIN_KINDS}
