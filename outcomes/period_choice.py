"""Which cases a review of the caseload is about: a period, and narrower choices."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

# Bands of symptom duration follow the statistics reference 1.3: months at opening.
DURATIONS = ("under 3 months", "3 to 12 months", "over 12 months")
# Where the first score lies on its own scale, in thirds (project assumption).
BASELINE_BANDS = ("worse third", "middle third", "better third")


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """Episodes opened from one day to another, both included; empty means all."""

    from_on: date
    until_on: date
    clinician: int | None = None
    side: str = ""
    duration: str = ""
    baseline: str = ""


def duration_band(months: float) -> str:
    """Return the band of the months of symptoms at opening; 3 and 12 are inside."""
    if not months >= 0:
        raise ValueError("A duration is not below 0 months.")
    return DURATIONS[(months >= 3) + (months > 12)]
