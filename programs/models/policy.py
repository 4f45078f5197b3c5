"""The dosing numbers of a site: only what differs from the defaults."""

from django.conf import settings
from django.db import models

from clinic.models import Site


class SiteDosing(models.Model):
    """A site's own dosing numbers, and whether advice is shown at all."""

    site = models.OneToOneField(Site, models.PROTECT, related_name="dosing")
    values = models.JSONField(default=dict)
    is_advice_on = models.BooleanField(default=True)
    version = models.PositiveIntegerField(default=1, editable=False)
    changed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+"
    )
    changed_at = models.DateTimeField(auto_now=True)

    def __str__(self) -> str:
        return f"Dosing at {self.site}"
