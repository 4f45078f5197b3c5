"""What was decided on a case, and by which policy of the site."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from clinic.models import Episode, Site
from clinic.models.base import SiteRecord

from ..querysets import ReviewQuerySet


class CaseReview(SiteRecord):
    """What was decided when a case was flagged, and when to look again."""

    class Decision(models.TextChoices):
        """What the clinician does next."""

        CONTINUE = "continue", "Continue as planned"
        CHANGE = "change", "Change the programme"
        DIAGNOSIS = "diagnosis", "Look again at the diagnosis"
        REFER = "refer", "Refer on"
        DISCHARGE = "discharge", "Discharge"

    episode = models.ForeignKey(Episode, models.PROTECT, related_name="reviews")
    reviewed_on = models.DateField()
    decision = models.CharField(max_length=10, choices=Decision.choices)
    why = models.TextField()
    look_again_on = models.DateField()
    # The keys of the findings that were seen; only these rest until look_again_on.
    findings = models.JSONField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField(auto_now_add=True)

    objects = ReviewQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(look_again_on__gt=F("reviewed_on")),
                name="review_looks_ahead",
            ),
        ]
        indexes = [
            # Serves: the newest review of each case on the caseload.
            models.Index(fields=["episode", "-reviewed_on"], name="review_of_episode"),
        ]

    def __str__(self) -> str:
        return f"{self.get_decision_display()} on {self.reviewed_on}"


class SitePolicy(models.Model):
    """The review policy of a site: only what differs from the defaults."""

    site = models.OneToOneField(Site, models.PROTECT, related_name="policy")
    values = models.JSONField(default=dict)
    version = models.PositiveIntegerField(default=1, editable=False)
    changed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+"
    )
    changed_at = models.DateTimeField(auto_now=True)

    def __str__(self) -> str:
        return f"Policy of {self.site}"
