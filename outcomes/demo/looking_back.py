"""What the invented lead set down for the figures over time.

Reference periods on the first of the earlier years, and two changes in the clinic.
Days and words are constructed.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from clinic.models import Site, User

from ..clinic_changes import note_change
from ..reference_subjects import SUBJECTS
from ..references import declare_reference
from .history import FIRST_DAYS_AGO

# About 21 months of openings; longer where months of few cases need it.
LENGTHS = (640, 700, 760, 820)
WHY: Mapping[str, str] = {
    "share-reached": "The time before questionnaires came on a tablet.",
    "re-measured": "The time before questionnaires came on a tablet.",
    "opened": "The time before evening hours.",
    "model-akps": "The first of the earlier years; every case of them has ended.",
}
CHANGES = (
    (330, "Questionnaires on a tablet"),
    (115, "Evening hours on two days"),
)


def look_back(*, by: User, on: date) -> None:
    """Declare the reference periods and note the changes, as the lead would.

    Raises ValueError where the earlier years cannot carry a reference period.
    """
    from_on = on - timedelta(days=FIRST_DAYS_AGO)
    until_on, numbers = _shortest(by.site, from_on, on=on)
    for slug, frozen in numbers.items():
        declare_reference(
            site=by.site,
            by=by,
            subject=SUBJECTS[slug].subject,
            from_on=from_on,
            until_on=until_on,
            numbers=frozen,
            why=WHY[slug],
        )
    for days_ago, words in CHANGES:
        happened_on = on - timedelta(days=days_ago)
        note_change(site=by.site, by=by, happened_on=happened_on, words=words)


def _shortest(
    site: Site, from_on: date, *, on: date
) -> tuple[date, dict[str, dict[str, Any]]]:
    """Return the last day of the shortest period that carries every subject."""
    refusal = ValueError("No length of a reference period is tried.")
    for days in LENGTHS:
        until_on = from_on + timedelta(days=days)
        try:
            return until_on, _frozen(site, from_on, until_on, on=on)
        except ValueError as why_not:
            refusal = why_not
    raise refusal


def _frozen(
    site: Site, from_on: date, until_on: date, *, on: date
) -> dict[str, dict[str, Any]]:
    from ..trends.freezing import frozen_numbers

    return {
        slug: frozen_numbers(
            site, SUBJECTS[slug], from_on=from_on, until_on=until_on, on=on
        )
        for slug in WHY
    }
