"""manage.py verify_data: silent on a sound record, and each fault by its name."""

from collections.abc import Callable
from datetime import date
from io import StringIO

import pytest
from django.core.management import call_command
from django.db import connection

from clinic.models import Episode, Screen, User, Visit
from outcomes.models import (
    Assessment,
    AuditExport,
    ExportedCase,
    PainScore,
    PhysicalResult,
)
from tests.factories import (
    make_akps,
    make_episode,
    make_patient,
    make_physical,
    make_screened_episode,
    make_visit,
)

DAY = date(2026, 1, 8)


@pytest.fixture
def case(clinician: User) -> Episode:
    """A case with one of each."""
    made = make_screened_episode(by=clinician)
    make_visit(episode=made, on=DAY, pain={"worst": 5})
    make_akps(episode=made, on=DAY, total=61)
    make_physical(episode=made, on=DAY)
    return made


def verified() -> tuple[int, str]:
    """Run the command and return its code and what it printed."""
    out = StringIO()
    try:
        call_command("verify_data", stdout=out)
    except SystemExit as ended:
        return int(str(ended.code)), out.getvalue()
    return 0, out.getvalue()


def test_a_sound_record_has_no_fault(case: Episode) -> None:
    """One questionnaire, one screen and two sides of a test are worked out again."""
    code, said = verified()
    assert (code, said) == (0, said)
    assert "4 results worked out again" in said and "No fault found" in said


def test_an_old_edition_is_left_alone(case: Episode) -> None:
    """It was right by the key of its day; the sentence says how many."""
    Assessment.objects.update(edition=999, score=1)
    code, said = verified()
    assert code == 0 and "1 of an older edition left alone" in said


def stray_site(case: Episode, stranger: User) -> None:
    """Give a visit to another site."""
    Visit.objects.update(site=stranger.site)


def other_person(case: Episode, stranger: User) -> None:
    """Name somebody else in an assessment."""
    other = make_patient(by=case.clinician)
    Assessment.objects.update(patient=other)


def other_case(case: Episode, stranger: User) -> None:
    """Hang a pain score on the visit of another case."""
    other = make_episode(by=case.clinician, patient=case.patient, side="right")
    PainScore.objects.update(episode=other)


def kept_key(case: Episode, stranger: User) -> None:
    """Leave a random key in a complete export."""
    export = AuditExport.objects.create(
        site=case.site,
        recipient="Invented",
        purpose="Invented",
        legal_basis="Invented",
        destroy_by_on=DAY,
        from_on=DAY,
        until_on=DAY,
        made_by=case.clinician,
        state="complete",
    )
    ExportedCase.objects.create(
        site=case.site, export=export, episode=case, patient=case.patient, key="abc"
    )


FAULTS: list[tuple[Callable[[Episode, User], object], str]] = [
    (lambda *_: Assessment.objects.update(score=62), "62 is stored, and what was"),
    (lambda *_: Assessment.objects.update(answers={"1": "z"}), "holds an answer"),
    (lambda *_: PhysicalResult.objects.update(value=1), "1 is stored, and what was"),
    (lambda *_: Screen.objects.update(is_positive=True), "is marked positive"),
    (lambda *_: Visit.objects.update(visited_on=date(2025, 1, 1)), "before its case"),
    (lambda *_: Visit.objects.update(visited_on=date(2999, 1, 1)), "after it was rec"),
    (lambda *_: Episode.objects.update(primary_measure="psychic"), "primary measure"),
    (stray_site, "belongs to another site than its episode"),
    (other_person, "names another patient than its case"),
    (other_case, "hangs on a visit of another case"),
    (kept_key, "still holds the random key"),
]


@pytest.mark.parametrize(("do", "says"), FAULTS, ids=[says for _, says in FAULTS])
def test_each_fault_is_told_with_its_row(
    case: Episode,
    stranger: User,
    do: Callable[[Episode, User], object],
    says: str,
) -> None:
    """The command ends with 1 and changes nothing."""
    do(case, stranger)
    code, said = verified()
    assert code == 1
    assert says in said, said


def test_a_trail_without_its_triggers_is_told(case: Episode) -> None:
    """Restoring by hand can lose them."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute(
                "SELECT name FROM sqlite_master "
                "WHERE type = 'trigger' AND tbl_name = 'clinic_auditevent'"
            )
            for (name,) in cursor.fetchall():
                cursor.execute(f"DROP TRIGGER {name}")
        else:
            # What is checked at the end of a transaction waits, and holds the table.
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
            cursor.execute("ALTER TABLE clinic_auditevent DISABLE TRIGGER USER")
    code, said = verified()
    assert code == 1 and "stops a change of the audit trail" in said
