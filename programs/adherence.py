"""How many sessions a line asks for, and how many were done."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from .models import Prescription, SessionLog

DAYS_A_WEEK = 7


@dataclass(frozen=True, slots=True)
class Adherence:
    """Sessions told as done, and those planned over the same time; None if unknown."""

    done: int | None
    planned: int | None

    @property
    def words(self) -> str:
        """The two numbers in words."""
        if self.done is None:
            return "no sessions logged"
        if self.planned is None:
            return f"{self.done} sessions done"
        return f"{self.done} of {self.planned} planned sessions done"


def planned_sessions(
    line: Prescription, *, from_on: date, until_on: date
) -> int | None:
    """Return the sessions that a line asks for between two days, rounded; None if
    the line has no weekly frequency."""
    if line.times_a_week is None:
        return None
    first = max(from_on, line.starts_on) if line.starts_on else from_on
    days = (min(until_on, line.stops_on or until_on) - first).days
    return round(line.times_a_week * max(days, 0) / DAYS_A_WEEK)


def prescribed_sets(line: Prescription) -> int | None:
    """Return the sets of one session; None where the line has none."""
    return line.sets or len(line.scheme) or None


def adherence(
    lines: Iterable[Prescription],
    logs: dict[int, list[SessionLog]],
    *,
    until_on: date,
) -> Adherence:
    """Add up lines that followed one another.

    What is planned is counted up to the last visit that told something: what nobody
    asked about is not missing.
    """
    done: list[int] = []
    planned: list[int | None] = []
    for line in lines:
        told = [log for log in logs.get(line.pk, ()) if log.sessions_done is not None]
        if not told or line.starts_on is None:
            continue
        done += [log.sessions_done or 0 for log in told]
        last_on = min(told[-1].visit.visited_on, until_on)
        planned.append(planned_sessions(line, from_on=line.starts_on, until_on=last_on))
    if not done:
        return Adherence(None, None)
    is_known = all(each is not None for each in planned)
    return Adherence(
        sum(done), sum(each or 0 for each in planned) if is_known else None
    )
