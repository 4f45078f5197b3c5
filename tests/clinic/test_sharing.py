"""A person's choice about audit: kept with day and way, and taken back openly."""

from datetime import date, timedelta

import pytest

from clinic.models import AuditEvent, Episode, Patient, User
from clinic.sharing import (
    ChoiceRefused,
    allow_audit,
    choice_in_words,
    decline_audit,
)
from tests.factories import make_episode, make_patient

pytestmark = pytest.mark.usefixtures("clock")
TOLD_ON = date(2026, 3, 2)


@pytest.fixture
def patient(clinician: User) -> Patient:
    """A person of whom nothing is on record yet."""
    return make_patient(by=clinician)


def lines(patient: Patient) -> list[AuditEvent]:
    """Return the person's lines about the choice, oldest first."""
    of_choice = patient.audit_events.filter(action__startswith="patient.audit_")
    return list(of_choice.order_by("pk"))


def test_declining_is_kept_with_day_and_way(patient: Patient, clinician: User) -> None:
    """One line says what stood before and what stands now."""
    decline_audit(patient, by=clinician, on=TOLD_ON, how="in writing")
    patient.refresh_from_db()
    assert patient.audit_declined_on == TOLD_ON
    assert patient.audit_declined_how == "in writing"
    (line,) = lines(patient)
    assert (line.action, line.by) == ("patient.audit_declined", clinician)
    assert line.detail["before"] == {"declined_on": "", "how": ""}
    assert line.detail["after"] == {"declined_on": "2026-03-02", "how": "in writing"}


def test_a_choice_can_be_taken_back(patient: Patient, clinician: User) -> None:
    """The row is clean again; when and how the person said so is on the trail."""
    decline_audit(patient, by=clinician, on=TOLD_ON, how="in writing")
    later = TOLD_ON + timedelta(days=30)
    allow_audit(patient, by=clinician, on=later, how="in person")
    patient.refresh_from_db()
    assert (patient.audit_declined_on, patient.audit_declined_how) == (None, "")
    line = lines(patient)[-1]
    assert line.action == "patient.audit_allowed"
    assert line.detail["before"]["declined_on"] == "2026-03-02"
    assert line.detail["after"] == {"declined_on": "", "how": ""}
    assert line.detail["told_on"] == later.isoformat()
    assert line.detail["told_how"] == "in person"


def test_a_wrong_day_can_be_mended(patient: Patient, clinician: User) -> None:
    """Declining again replaces day and way; the first stays on the trail."""
    decline_audit(patient, by=clinician, on=TOLD_ON, how="in writing")
    decline_audit(patient, by=clinician, on=date(2026, 2, 3), how="representative")
    patient.refresh_from_db()
    assert patient.audit_declined_on == date(2026, 2, 3)
    assert lines(patient)[-1].detail["before"]["declined_on"] == "2026-03-02"


def test_the_day_is_between_birth_and_today(
    patient: Patient, clinician: User, today: date
) -> None:
    """The day of birth and today itself can be; the days beyond are refused."""
    one = timedelta(days=1)
    for on, words in [
        (today + one, "This day is still to come."),
        (patient.birth_date - one, "This day is before the person was born."),
    ]:
        with pytest.raises(ChoiceRefused, match=words):
            decline_audit(patient, by=clinician, on=on, how="in person")
    assert lines(patient) == []
    for on in (patient.birth_date, today):
        decline_audit(patient, by=clinician, on=on, how="in person")


def test_nothing_is_taken_back_that_does_not_stand(
    patient: Patient, clinician: User
) -> None:
    """Neither where nobody declined, nor before the day on which they did."""
    with pytest.raises(ChoiceRefused, match="does not decline"):
        allow_audit(patient, by=clinician, on=TOLD_ON, how="in person")
    decline_audit(patient, by=clinician, on=TOLD_ON, how="in person")
    earlier = TOLD_ON - timedelta(days=1)
    with pytest.raises(ChoiceRefused, match="after that day, on 2 Mar 2026"):
        allow_audit(patient, by=clinician, on=earlier, how="in person")
    patient.refresh_from_db()
    assert patient.audit_declined_on == TOLD_ON


def test_an_unknown_way_is_refused(patient: Patient, clinician: User) -> None:
    """How the clinic learned it is one of four ways."""
    with pytest.raises(ChoiceRefused, match="how the clinic learned"):
        decline_audit(patient, by=clinician, on=TOLD_ON, how="guessed")


@pytest.mark.parametrize(
    ("how", "words"),
    [
        ("in person", "told us in person on 2 Mar 2026."),
        ("in writing", "told us in writing on 2 Mar 2026."),
        (
            "representative",
            "told us through a parent or representative on 2 Mar 2026.",
        ),
        ("register", "found in a public register of such choices on 2 Mar 2026."),
    ],
)
def test_a_choice_is_said_in_words(how: str, words: str) -> None:
    """Every way has its own words; without a choice there is nothing to say."""
    assert choice_in_words(Patient()) == ""
    person = Patient(audit_declined_on=TOLD_ON, audit_declined_how=how)
    expected = f"Declines the use of their data for audit, {words}"
    assert choice_in_words(person) == expected


def test_both_knees_of_the_person_are_left_out(clinician: User) -> None:
    """The choice is the person's; cases of others are shared as before."""
    other = make_episode(by=clinician)
    case = make_episode(by=clinician, side="left")
    make_episode(by=clinician, patient=case.patient, side="right")
    decline_audit(case.patient, by=clinician, on=TOLD_ON, how="in person")
    assert list(Episode.objects.shared()) == [other]
    assert Episode.objects.standing().count() == 3
