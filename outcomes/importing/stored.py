"""What is stored already about some people's days, voided rows included."""

from collections import defaultdict
from collections.abc import Collection, Mapping
from datetime import date
from typing import Any, TypeVar

from django.db.models import F

from clinic.models import Visit
from clinic.models.base import VoidableRecord

from ..models import Activity, Assessment, PainScore
from .reading import shown

Row = TypeVar("Row", bound=VoidableRecord)


class Shelf:
    """Visits, pain, forms and activities of some patients; four queries."""

    def __init__(self, patients: Collection[int]) -> None:
        self.visits: dict[tuple[int, date], list[Visit]] = defaultdict(list)
        self.pains: dict[tuple[int, date], list[PainScore]] = defaultdict(list)
        self.of_knee: dict[tuple[int, str, date], list[Assessment]] = defaultdict(list)
        self.of_person: dict[tuple[int, str, date], list[Assessment]] = defaultdict(
            list
        )
        self.activities: dict[int, dict[str, int]] = defaultdict(dict)
        if patients:
            self._load_days(patients)
            self._load_forms(patients)

    def _load_days(self, patients: Collection[int]) -> None:
        visits = Visit.objects.filter(episode__patient__in=patients)
        for visit in visits.annotate(next_morning=F("response__next_morning")):
            self.visits[visit.episode_id, visit.visited_on].append(visit)
        for pain in PainScore.objects.filter(episode__patient__in=patients):
            self.pains[pain.episode_id, pain.rated_on].append(pain)

    def _load_forms(self, patients: Collection[int]) -> None:
        for form in Assessment.objects.filter(patient__in=patients):
            key = form.measure, form.assessed_on
            if form.is_of_person:
                self.of_person[form.patient_id, *key].append(form)
            else:
                self.of_knee[form.episode_id, *key].append(form)
        for activity in Activity.objects.filter(patient__in=patients):
            words = activity.words.casefold()
            self.activities[activity.patient_id][words] = activity.number


def standing(rows: list[Row]) -> Row | None:
    """Return the row that counts, if there is one."""
    return next((row for row in rows if row.is_standing), None)


def withdrawn(rows: list[Row]) -> list[Row]:
    """Return the rows that were voided."""
    return [row for row in rows if not row.is_standing]


def visit_of_day(visit: Visit) -> dict[str, Any]:
    """Return what a stored visit says, by the items of the file."""
    return {
        "attendance": visit.attendance,
        "note": visit.note or None,
        "next_day": getattr(visit, "next_morning", "") or None,
    }


def pain_of_day(pain: PainScore) -> dict[str, Any]:
    """Return what a stored row of pain says, by the items of the file."""
    return pain.values()


def says_all(stored: Mapping[str, Any], said: Mapping[str, Any]) -> bool:
    """Whether everything said is stored."""
    return all(stored.get(item) == value for item, value in said.items())


def contradicts(stored: object) -> str:
    """Say what to do about a fact that is stored otherwise, or not at all."""
    if stored is None:
        return (
            "the app holds this day without it: add it in the app, or take the row "
            "away."
        )
    return (
        f"the app holds {shown(str(stored))} here: correct the file, or change it in "
        "the app first."
    )
