"""Nothing of a person leaves: no word, no hash of one, no date, no key of ours."""

import re
from collections.abc import Callable
from datetime import date
from typing import Any

import pytest

from clinic.models import Episode, User
from outcomes.exporting.beginning import begin_export
from outcomes.exporting.rows import Reading
from outcomes.models import AuditExport, ExportedCase
from tests.outcomes.exporting.canaries import (
    make_marked_case,
    mark_everything,
    prints_of,
)
from tests.outcomes.exporting.exported import (
    OPENED_ON,
    TABLES,
    make_cases,
    members,
    rows_of,
    wanted,
)

KEY = re.compile(r"[0-9A-Za-z]{22}")
A_DAY = re.compile(rb"\d{4}-\d{2}-\d{2}")


@pytest.fixture
def marked(
    clinician: User, clock: Callable[[date], None]
) -> tuple[Episode, list[str], dict[str, bytes], str]:
    """The marked case among others, every mark, the file, and the case's key in it."""
    make_cases(by=clinician, count=12)
    case, marks = make_marked_case(by=clinician, opened_on=OPENED_ON)
    marks += mark_everything()
    lead = User.objects.filter(role="lead").first() or clinician
    begun = begin_export(wanted(), by=lead)
    key = ExportedCase.objects.get(episode=case).key
    return case, marks, members(begun), key


@pytest.fixture(autouse=True)
def _lead(lead: User) -> None:
    """There is a lead, who exports."""


def test_no_word_of_anybody_leaves(
    marked: tuple[Episode, list[str], dict[str, bytes], str],
) -> None:
    """Neither a mark nor a hash of one stands in any file, its name included."""
    _, marks, found, _ = marked
    assert len(marks) > 60
    texts = " ".join([*found, *(data.decode() for data in found.values())]).lower()
    leaked = [word for word in marks if any(p in texts for p in prints_of(word))]
    assert leaked == []


def test_the_marked_case_is_in_the_file_at_all(
    marked: tuple[Episode, list[str], dict[str, bytes], str],
) -> None:
    """The tests beside this one would pass on an empty file."""
    _, _, found, key = marked
    for name in TABLES:
        assert key in [row["episode_key"] for row in rows_of(found[f"{name}.csv"])]
    codes = [
        row["activities"]
        for row in rows_of(found["assessments.csv"])
        if row["episode_key"] == key
    ]
    assert {"A1=3 A2=2", "A1=5 A2=4"} <= set(codes)
    (line,) = rows_of(found["prescriptions.csv"])
    assert line["exercise"] == "clinic-made"


def test_no_day_leaves(
    marked: tuple[Episode, list[str], dict[str, bytes], str],
) -> None:
    """Neither in the tables nor in what explains them; members carry one fixed day."""
    found = marked[2]
    assert {name: A_DAY.findall(data) for name, data in found.items()} == {
        name: [] for name in found
    }


def test_no_key_of_ours_leaves(
    marked: tuple[Episode, list[str], dict[str, bytes], str],
) -> None:
    """Keys are of the drawn form; no row of ours, nor a hash of its number, is one."""
    case, _, found, _ = marked
    numbers = {str(pk) for pk in (case.pk, case.patient_id, case.clinician_id)}
    numbers |= {print_ for pk in list(numbers) for print_ in prints_of(pk)}
    for name in TABLES:
        for row in rows_of(found[f"{name}.csv"]):
            assert KEY.fullmatch(row["episode_key"])
            assert row["episode_key"] not in numbers
    texts = " ".join(data.decode() for data in found.values())
    assert not [long for long in numbers if len(long) > 20 and long in texts]


def test_a_column_that_is_not_listed_stops_the_export(
    lead: User,
    clinician: User,
    clock: Callable[[date], None],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """What a reader picks up by mistake never reaches the file."""
    make_cases(by=clinician, count=12)
    plain = Reading.episodes

    def more(self: Reading, cases: Any) -> Any:
        for row, case in zip(plain(self, cases), cases, strict=True):
            yield {**row, "sport": case.episode.sport}

    readers = {"episodes": more}
    monkeypatch.setattr("outcomes.exporting.rows.READERS", readers)
    with pytest.raises(ValueError, match="not listed: sport"):
        members(begin_export(wanted(), by=lead))
    assert AuditExport.objects.get().state == AuditExport.State.STOPPED
