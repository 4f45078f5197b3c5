"""Makers of cases to export, and readers of the file that comes of them."""

import csv
import io
import zipfile
from datetime import date, timedelta
from typing import Any

from clinic.models import Episode, User
from outcomes.exporting.beginning import Begun, Wanted, begin_export
from outcomes.exporting.writing import export_chunks
from tests.factories import make_akps, make_episode

OPENED_ON = date(2026, 1, 5)
TABLES = ("episodes", "assessments", "pain_scores", "visits", "prescriptions")


def make_cases(
    *, by: User, count: int, opened_on: date = OPENED_ON, **details: Any
) -> list[Episode]:
    """Make alike people with one knee each; every second one got better."""
    cases = []
    for at in range(count):
        case = make_episode(by=by, opened_on=opened_on, **details)
        make_akps(episode=case, on=opened_on, total=60)
        later = opened_on + timedelta(weeks=6)
        make_akps(episode=case, on=later, total=60 + 20 * (at % 2))
        cases.append(case)
    return cases


def wanted(**changes: Any) -> Wanted:
    """Return an invented request for the first half of 2026."""
    given: dict[str, Any] = {
        "recipient": "Invented audit office",
        "purpose": "An invented question",
        "legal_basis": "An invented rule",
        "destroy_by_on": date(2099, 12, 31),
        "from_on": date(2026, 1, 1),
        "until_on": date(2026, 5, 31),
    }
    return Wanted(**given | changes)


def exported(by: User, **changes: Any) -> dict[str, bytes]:
    """Make an export and return the members of its zip."""
    return members(begin_export(wanted(**changes), by=by))


def members(begun: Begun) -> dict[str, bytes]:
    """Write an export that was begun and return the members of its zip."""
    return opened(b"".join(export_chunks(begun)))


def opened(data: bytes) -> dict[str, bytes]:
    """Return the members of a zip by name."""
    with zipfile.ZipFile(io.BytesIO(data)) as file:
        assert file.testzip() is None
        return {name: file.read(name) for name in file.namelist()}


def rows_of(data: bytes) -> list[dict[str, str]]:
    """Return the rows of one table."""
    return list(csv.DictReader(io.StringIO(data.decode("utf-8"), newline="")))
