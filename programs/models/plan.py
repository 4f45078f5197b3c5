"""The plan: a programme, its phases, and what is prescribed in them."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from clinic.models import Episode, Side
from clinic.models.base import SiteRecord, VoidableRecord, voided_whole


class ClinicExercise(SiteRecord):
    """An entry that a clinic added to the library; retired, never deleted."""

    name = models.CharField(max_length=120)
    target = models.CharField(max_length=40)
    is_weight_bearing = models.BooleanField(default=True)
    # Done with a cuff: prescribed behind the same gate as the library's own entries.
    is_bfr = models.BooleanField(default=False)
    equipment = models.CharField(max_length=120, blank=True)
    how = models.TextField(help_text="How it is done, in plain words for the patient.")
    cautions = models.TextField(blank=True)
    source = models.CharField(
        max_length=300, help_text="What speaks for it; “common practice” is an answer."
    )
    added_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+"
    )
    added_at = models.DateTimeField(auto_now_add=True)
    retired_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["site", "name"],
                name="clinic_exercise_name_unique",
                violation_error_message="The clinic has an entry of this name.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Programme(VoidableRecord):
    """What is planned for one episode; a template has no episode."""

    episode = models.ForeignKey(
        Episode, models.PROTECT, null=True, blank=True, related_name="programmes"
    )
    title = models.CharField(max_length=120)
    aim = models.TextField(blank=True)
    starts_on = models.DateField(null=True, blank=True)
    ended_on = models.DateField(null=True, blank=True)
    why_ended = models.CharField(max_length=300, blank=True)
    copied_from = models.ForeignKey(
        "self", models.PROTECT, null=True, blank=True, related_name="copies"
    )
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)
    version = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        constraints = [
            # Serves: the running programme of a case.
            models.UniqueConstraint(
                fields=["episode"],
                condition=Q(ended_on__isnull=True, voided_at__isnull=True),
                name="programme_one_running",
                violation_error_message="This case has a running programme.",
            ),
            models.CheckConstraint(
                condition=Q(episode__isnull=True, starts_on__isnull=True)
                | Q(episode__isnull=False, starts_on__isnull=False),
                name="programme_starts_unless_template",
            ),
            voided_whole("programme_voided_whole"),
        ]

    def __str__(self) -> str:
        return self.title

    @property
    def is_template(self) -> bool:
        """Whether it is a plan to copy from rather than one for a case."""
        return self.episode_id is None


class Phase(SiteRecord):
    """A stretch of a programme with one aim."""

    programme = models.ForeignKey(Programme, models.PROTECT, related_name="phases")
    number = models.PositiveSmallIntegerField()
    title = models.CharField(max_length=120)
    aim = models.TextField(blank=True)
    starts_on = models.DateField(null=True, blank=True)
    ends_on = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["programme", "number"], name="phase_number_unique"
            ),
            models.CheckConstraint(
                condition=Q(ends_on__isnull=True) | Q(ends_on__gte=F("starts_on")),
                name="phase_ends_after_start",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number}. {self.title}"


class Prescription(VoidableRecord):
    """One line of a phase; a change makes a new line that replaces it."""

    class Load(models.TextChoices):
        """What the load is given in."""

        BODY = "body", "Body weight"
        KG = "kg", "Kilograms"
        BAND = "band", "Band"
        PERCENT = "percent", "Per cent of one-repetition maximum"
        NONE = "none", "No load"

    class On(models.TextChoices):
        """Which side does it."""

        INDEX = "index", "The treated side"
        OTHER = "other", "The other side"
        BOTH = "both", "Both sides"

    phase = models.ForeignKey(Phase, models.PROTECT, related_name="prescriptions")
    # A key of the library, or an entry of the clinic's own; never both.
    exercise = models.CharField(max_length=60, blank=True)
    clinic_exercise = models.ForeignKey(
        ClinicExercise, models.PROTECT, null=True, blank=True, related_name="uses"
    )
    on_side = models.CharField(max_length=5, choices=On.choices, default=On.INDEX)
    sets = models.PositiveSmallIntegerField(null=True, blank=True)
    repetitions = models.PositiveSmallIntegerField(null=True, blank=True)
    # Repetitions set by set, in place of sets and repetitions: [30, 15, 15, 15].
    scheme = models.JSONField(default=list, blank=True)
    hold_seconds = models.PositiveSmallIntegerField(null=True, blank=True)
    minutes = models.PositiveSmallIntegerField(null=True, blank=True)
    rest_seconds = models.PositiveSmallIntegerField(null=True, blank=True)
    load = models.CharField(max_length=7, choices=Load.choices, default=Load.BODY)
    load_kg = models.FloatField(null=True, blank=True)
    band = models.CharField(max_length=40, blank=True)
    load_percent = models.FloatField(null=True, blank=True)
    one_rm_kg = models.FloatField(null=True, blank=True)
    # What the equipment holds: the smallest step up, and its empty weight.
    plate_step_kg = models.FloatField(null=True, blank=True)
    empty_kg = models.FloatField(null=True, blank=True)
    tempo = models.CharField(max_length=80, blank=True)
    range_from = models.PositiveSmallIntegerField(null=True, blank=True)
    range_to = models.PositiveSmallIntegerField(null=True, blank=True)
    times_a_week = models.PositiveSmallIntegerField(null=True, blank=True)
    # Measured on the limb that works under the cuff; never estimated.
    occlusion_mmhg = models.PositiveSmallIntegerField(null=True, blank=True)
    occlusion_side = models.CharField(max_length=5, choices=Side.choices, blank=True)
    occlusion_measured_on = models.DateField(null=True, blank=True)
    cuff_percent = models.PositiveSmallIntegerField(null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)
    starts_on = models.DateField(null=True, blank=True)
    stops_on = models.DateField(null=True, blank=True)
    replaces = models.OneToOneField(
        "self", models.PROTECT, null=True, blank=True, related_name="replaced_by"
    )
    why = models.CharField(max_length=300, blank=True)
    prescribed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+"
    )
    prescribed_at = models.DateTimeField(auto_now_add=True)
    why_stopped = models.CharField(max_length=300, blank=True)
    stopped_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=(Q(clinic_exercise__isnull=True) & ~Q(exercise=""))
                | Q(clinic_exercise__isnull=False, exercise=""),
                name="prescription_names_one_exercise",
            ),
            models.CheckConstraint(
                condition=Q(stops_on__isnull=True) | Q(stops_on__gte=F("starts_on")),
                name="prescription_stops_after_start",
            ),
            models.CheckConstraint(
                condition=Q(cuff_percent__isnull=True)
                | Q(
                    cuff_percent__gte=40,
                    cuff_percent__lte=80,
                    occlusion_mmhg__isnull=False,
                    occlusion_mmhg__gte=80,
                    occlusion_mmhg__lte=300,
                    occlusion_side__in=Side.values,
                    occlusion_measured_on__isnull=False,
                ),
                name="prescription_cuff_from_measured_pressure",
            ),
            voided_whole("prescription_voided_whole"),
        ]
        indexes = [
            # Serves: what runs in a case on a day.
            models.Index(fields=["phase", "stops_on"], name="prescription_of_phase"),
        ]

    def __str__(self) -> str:
        return self.exercise or str(self.clinic_exercise)

    @property
    def is_running(self) -> bool:
        """Whether the line is in force: begun, neither stopped, replaced nor voided."""
        is_begun = self.starts_on is not None
        return is_begun and self.stops_on is None and self.voided_at is None
