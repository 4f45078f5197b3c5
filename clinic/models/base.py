"""What every clinical row carries: its site, and how it is voided."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from ..querysets import SiteQuerySet, VoidableQuerySet


class SiteRecord(models.Model):
    """A row that belongs to one site; acts copy the site from the episode."""

    site = models.ForeignKey("clinic.Site", models.PROTECT, related_name="+")

    objects = SiteQuerySet.as_manager()

    class Meta:
        abstract = True


class VoidableRecord(SiteRecord):
    """A row that can be withdrawn from every page while staying on record."""

    voided_at = models.DateTimeField(null=True, blank=True, editable=False)
    voided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        editable=False,
        related_name="+",
    )
    void_reason = models.CharField(max_length=300, blank=True, editable=False)

    objects = VoidableQuerySet.as_manager()

    class Meta:
        abstract = True

    @property
    def is_standing(self) -> bool:
        """Whether the row still counts."""
        return self.voided_at is None


def voided_whole(name: str) -> models.CheckConstraint:
    """Constrain a void to carry who, when and why, or nothing of it."""
    nothing = Q(voided_at__isnull=True, voided_by__isnull=True, void_reason="")
    everything = Q(voided_at__isnull=False, voided_by__isnull=False) & ~Q(
        void_reason=""
    )
    return models.CheckConstraint(condition=nothing | everything, name=name)
