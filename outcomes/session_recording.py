"""What was told of the lines of a programme at one visit, as it is kept."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from clinic.models import Visit
from programs.models import Prescription, SessionLog

SESSION_COLUMNS = (
    "sessions_done",
    "sets_done",
    "repetitions_over",
    "pain_during",
    "is_stopped_by_pain",
)
NOT_STOPPED = {"is_stopped_by_pain": False}


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionEntry:
    """What was told of one line of the programme; None where nothing was."""

    prescription: Prescription
    sessions_done: int | None = None
    sets_done: int | None = None
    repetitions_over: int | None = None
    pain_during: int | None = None
    is_stopped_by_pain: bool = False

    @property
    def columns(self) -> dict[str, Any]:
        """Return the columns of a session log."""
        return {name: getattr(self, name) for name in SESSION_COLUMNS}


def session_logs_state(visit: Visit) -> dict[str, dict[str, Any]]:
    """Return what was told of each line, by its number."""
    return {
        str(log.prescription_id): {n: getattr(log, n) for n in SESSION_COLUMNS}
        for log in SessionLog.objects.filter(visit=visit).order_by("prescription")
    }


def keep_session_logs(visit: Visit, entries: Iterable[SessionEntry]) -> None:
    """Keep what was told of each line; what is no longer told is emptied."""
    told = {log.prescription.pk: log.columns for log in entries}
    kept = SessionLog.objects.filter(visit=visit).values_list("prescription", flat=True)
    emptied = dict.fromkeys(SESSION_COLUMNS) | NOT_STOPPED
    rows = [
        SessionLog(
            site_id=visit.site_id,
            visit=visit,
            prescription_id=pk,
            **told.get(pk, emptied),
        )
        for pk in sorted({*told, *kept})
    ]
    SessionLog.objects.bulk_create(
        rows,
        update_conflicts=True,
        unique_fields=["visit", "prescription"],
        update_fields=SESSION_COLUMNS,
    )
