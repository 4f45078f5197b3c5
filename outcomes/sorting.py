"""Orders of the caseload, each with its words."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from .caseload import CaseRow


@dataclass(frozen=True, slots=True)
class Order:
    """One way to order the caseload."""

    label: str
    key: Callable[[CaseRow], Any]


def _name(row: CaseRow) -> tuple[str, str]:
    patient = row.episode.patient
    return patient.family_name.casefold(), patient.given_name.casefold()


def _review(row: CaseRow) -> tuple[Any, ...]:
    since = row.findings[0].since if row.findings else date.max
    return row.rank, since, _name(row)


ORDERS = {
    "": Order("Most pressing first", _review),
    "name": Order("Name", _name),
    "gain": Order(
        "Least gain first",
        lambda row: (row.gain is None, row.gain or 0.0, _name(row)),
    ),
    "seen": Order(
        "Longest not seen first",
        lambda row: (row.last_seen_on or date.min, _name(row)),
    ),
    "weeks": Order("Longest in care first", lambda row: (-row.weeks, _name(row))),
}


def in_order(rows: Iterable[CaseRow], order: str) -> list[CaseRow]:
    """Return the rows in a named order; an unknown name counts as the first."""
    return sorted(rows, key=ORDERS.get(order, ORDERS[""]).key)
