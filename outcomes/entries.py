"""What a case holds: whether anything was entered, and on which last day."""

from datetime import date

from django.db.models import Max

from clinic.models import Episode, Visit

from .models import Assessment, Letter, PainScore, PhysicalResult


def has_entries(case: Episode) -> bool:
    """Tell whether visits, measures or letters stand in it; up to five queries."""
    return any(
        rows.objects.standing().filter(episode=case).exists()
        for rows in (Visit, Assessment, PainScore, PhysicalResult, Letter)
    )


def last_entry_on(case: Episode) -> date | None:
    """Return the last day that the case holds something of; four queries."""
    days = (
        (Visit, "visited_on"),
        (Assessment, "assessed_on"),
        (PainScore, "rated_on"),
        (PhysicalResult, "tested_on"),
    )
    latest = [
        rows.objects.standing().filter(episode=case).aggregate(on=Max(day))["on"]
        for rows, day in days
    ]
    return max((on for on in latest if on), default=None)
