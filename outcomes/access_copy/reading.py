"""Everything that is held about one person, chapter by chapter."""

from datetime import date, datetime

from clinic.models import Patient

from ..models import Activity
from . import care, measured, planned
from .kinds import Known
from .shape import Copy

# In the order of reading: who, what was found, what was done, what was written.
KINDS = (
    care.PERSON,
    care.EPISODES,
    care.VISITS,
    measured.ASSESSMENTS,
    measured.ACTIVITIES,
    measured.PAIN,
    measured.PHYSICAL,
    care.SCREENS,
    planned.PROGRAMMES,
    planned.PHASES,
    planned.LINES,
    planned.LOGS,
    planned.RESPONSES,
    planned.SUGGESTIONS,
    planned.FLOW_SCREENS,
    planned.EVENTS,
    planned.OTHER_CARE,
    care.REVIEWS,
    care.CONTACTS,
    care.COVERS,
    care.LETTERS,
    care.EXPORTS,
    care.TRAIL,
)
# Tables that can hold something about a person and are not copied, with the reason.
LEFT_OUT = {
    "outcomes.PendingImport": "an upload that waits for a yes, deleted within a day; "
    "what it brings in is then in the record",
}


def read_copy(patient: Patient, *, asked_on: date, at: datetime) -> Copy:
    """Return the whole record of a person, in one query for each chapter."""
    named = Activity.objects.filter(patient=patient)
    known = Known({str(one.number): one.words for one in named})
    return Copy(
        name=f"{patient.given_name} {patient.family_name}",
        clinic=patient.site.name,
        is_demo=patient.site.is_demo,
        made_at=at,
        asked_on=asked_on,
        chapters=tuple(kind.chapter(patient, known) for kind in KINDS),
    )
