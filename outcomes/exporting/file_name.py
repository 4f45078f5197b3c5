"""The name of an export's file: no patient, clinician or clinic is in it."""

from datetime import datetime

from django.utils import timezone


def file_name(at: datetime) -> str:
    """Return the name of a file that was begun at that moment."""
    return f"export-for-audit-{timezone.localtime(at):%Y%m%d-%H%M%S}.zip"
