"""What waits for a person's yes."""

from django.conf import settings
from django.db import models

from clinic.models.base import SiteRecord


class PendingImport(SiteRecord):
    """Two uploaded files between their preview and the person's yes."""

    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")
    patients_csv = models.BinaryField()
    observations_csv = models.BinaryField()
    patients_name = models.CharField(max_length=100, blank=True)
    observations_name = models.CharField(max_length=100, blank=True)
    # What the check found when they were uploaded, in a sentence.
    result = models.CharField(max_length=300, blank=True)
    is_day_first = models.BooleanField(default=False)
    uploaded_at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return f"Upload of {self.uploaded_at:%Y-%m-%d %H:%M}"
