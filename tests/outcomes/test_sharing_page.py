"""The page on which a person's choice about audit is kept."""

import uuid
from datetime import date
from typing import Any

import pytest
from django.test import Client

from clinic.models import Episode, User
from clinic.sharing import decline_audit
from tests.factories import make_episode, make_patient

pytestmark = pytest.mark.usefixtures("clock")
MARK = "Declines the use of their data for audit, told us in writing on 2 Mar 2026."


def choice(**changes: str) -> dict[str, str]:
    """Return a filled form: the person declines, in writing."""
    filled = {
        "wish": "declines",
        "told_on": "2026-03-02",
        "told_how": "in writing",
        "form_key": str(uuid.uuid4()),
    }
    return {**filled, **changes}


@pytest.fixture
def case(clinician: User) -> Episode:
    """A case of the clinician's."""
    return make_episode(by=clinician)


@pytest.fixture
def client(clinician: User, signed_in: Any) -> Client:
    """The clinician's browser."""
    return signed_in(clinician)


def address(case: Episode) -> str:
    """Return the address of the page."""
    return f"/patients/{case.patient_id}/sharing/"


def text(answer: Any) -> str:
    """Return the text of an answer."""
    return answer.content.decode()


def test_a_choice_is_marked_on_the_person_and_the_case(
    client: Client, case: Episode
) -> None:
    """Quietly, with the day and the way; and nothing where nobody declined."""
    patient_page = case.patient.get_absolute_url()
    assert "Declines" not in text(client.get(case.get_absolute_url()))
    assert "data count in the clinic" in text(client.get(patient_page))
    answer = client.post(address(case), choice())
    assert answer.url == patient_page
    for page in (patient_page, case.get_absolute_url()):
        assert MARK in text(client.get(page))


def test_a_choice_is_taken_back(client: Client, case: Episode) -> None:
    """The marks are gone, the page says what stood."""
    client.post(address(case), choice())
    assert MARK in text(client.get(address(case)))
    client.post(address(case), choice(wish="allows", told_on="2026-05-04"))
    case.patient.refresh_from_db()
    assert case.patient.audit_declined_on is None
    assert "Declines" not in text(client.get(case.get_absolute_url()))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"told_on": "2026-06-02"}, "This day is still to come."),
        ({"told_on": "1990-01-01"}, "This day is before the person was born."),
        ({"wish": "allows"}, "data may be used for audit already"),
        ({"told_how": ""}, "How we know"),
        ({"wish": ""}, "What the person wishes"),
    ],
)
def test_what_cannot_be_is_said_at_the_field(
    client: Client, case: Episode, changes: dict[str, str], words: str
) -> None:
    """Nothing is saved, and the page says what to mend."""
    answer = client.post(address(case), choice(**changes))
    assert answer.status_code == 422
    assert words in text(answer)
    case.patient.refresh_from_db()
    assert case.patient.audit_declined_on is None


def test_a_refusal_is_not_taken_back_before_it_was_made(
    client: Client, clinician: User, case: Episode
) -> None:
    """The error stands at the day."""
    decline_audit(case.patient, by=clinician, on=date(2026, 3, 2), how="in writing")
    answer = client.post(address(case), choice(wish="allows", told_on="2026-03-01"))
    assert answer.status_code == 422
    assert "declined after that day, on 2 Mar 2026" in text(answer)


def test_two_taps_are_one_choice(client: Client, case: Episode) -> None:
    """The second tap leads where the first did."""
    filled = choice()
    assert len({client.post(address(case), filled).url for _ in range(2)}) == 1
    lines = case.patient.audit_events.filter(action="patient.audit_declined")
    assert lines.count() == 1


def test_a_colleague_sees_the_choice_and_cannot_change_it(
    case: Episode, colleague: User, signed_in: Any
) -> None:
    """Whoever may write in one of the person's cases records it."""
    browser = signed_in(colleague)
    page = text(browser.get(case.patient.get_absolute_url()))
    assert "data count in the clinic" in page
    assert address(case) not in page
    assert browser.post(address(case), choice()).status_code == 403


def test_a_person_without_a_case_can_decline_at_admission(
    client: Client, clinician: User
) -> None:
    """Nobody treats them yet: whoever treats at the site may record it."""
    person = make_patient(by=clinician)
    path = f"/patients/{person.pk}/sharing/"
    assert client.get(path).status_code == 200
    assert client.post(path, choice()).status_code == 302
