"""The end of care: its measures, its reason, and taking it back."""

import uuid
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client

from clinic.admitting import discharge
from clinic.models import AuditEvent, Episode, User
from outcomes.recording import FilledForm
from tests.factories import akps_answers, make_akps, make_episode, make_visit

pytestmark = pytest.mark.usefixtures("clock")


@pytest.fixture
def case(clinician: User) -> Episode:
    """The clinician's case, open since January."""
    return make_episode(by=clinician)


@pytest.fixture
def client(clinician: User, signed_in: Any) -> Client:
    """The clinician's browser."""
    return signed_in(clinician)


def words(answer: Any) -> str:
    """Return the text of an answer."""
    return answer.content.decode()


def ending(**changes: str) -> dict[str, str]:
    """Return a filled discharge of today, without end measures."""
    filled = {
        "reason": "goals met",
        "discharged_on": "2026-06-01",
        "note": "Goes on running twice a week.",
        "is_without_measures": "on",
        "without_because": "seen by telephone",
        "version": "1",
        "form_key": str(uuid.uuid4()),
    }
    return {**filled, **changes}


def page(case: Episode) -> str:
    """Return the address of the form."""
    return f"/cases/{case.pk}/discharge/"


def measure_end(case: Episode, on: date) -> None:
    """Log a visit with every end measure."""
    groc = FilledForm(measure="groc", answers={"overall": 5}, mode="alone")
    akps = FilledForm(measure="akps", answers=akps_answers(88), mode="alone")
    make_visit(episode=case, on=on, pain={"worst": 1}, forms=(akps, groc))


def test_a_case_ends_with_its_measures(
    client: Client, case: Episode, today: date
) -> None:
    """Nothing is asked for that is there."""
    measure_end(case, today - timedelta(days=3))
    shown = words(client.get(page(case)))
    assert "29 May 2026" in shown
    assert "could not be taken" not in shown
    sent = ending(is_without_measures="", without_because="")
    assert client.post(page(case), sent).url == f"/cases/{case.pk}/"
    case.refresh_from_db()
    assert (case.discharged_on, case.discharge_reason) == (today, "goals met")
    assert case.discharge_note == "Goes on running twice a week."


@pytest.mark.parametrize(("days", "is_there"), [(14, True), (15, False)])
def test_end_measures_are_those_of_the_last_fortnight(
    client: Client, case: Episode, today: date, days: int, is_there: bool
) -> None:
    """Fourteen days before the last day of care still count."""
    make_akps(episode=case, on=today - timedelta(days=days), total=88)
    primary = client.get(page(case)).context["form"].measures[0]
    assert (primary.taken_on is not None) is is_there
    assert primary.value == (88 if is_there else None)


def test_missing_measures_are_named_with_a_way_to_take_them(
    client: Client, case: Episode
) -> None:
    """First comes the visit; a discharge without them needs the tick."""
    assert f"/cases/{case.pk}/visits/new/" in words(client.get(page(case)))
    answer = client.post(page(case), ending(is_without_measures=""))
    assert answer.status_code == 422
    assert "Log a visit with them first" in words(answer)
    assert "Goes on running twice a week." in words(answer)
    case.refresh_from_db()
    assert case.is_open


def test_measures_that_could_not_be_taken_need_a_reason(
    client: Client, case: Episode
) -> None:
    """The reason is kept with the note."""
    answer = client.post(page(case), ending(without_because=""))
    assert "Say why they could not be taken" in words(answer)
    assert client.post(page(case), ending()).status_code == 302
    case.refresh_from_db()
    assert "Not taken at the end:" in case.discharge_note
    assert case.discharge_note.endswith("Reason: seen by telephone")


def test_the_measures_belong_to_the_last_day_that_is_typed(
    client: Client, case: Episode, today: date
) -> None:
    """A discharge entered late looks back from its own day."""
    ended_on = today - timedelta(days=40)
    measure_end(case, ended_on - timedelta(days=2))
    sent = ending(
        discharged_on=ended_on.isoformat(), is_without_measures="", without_because=""
    )
    assert client.post(page(case), sent).status_code == 302


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("discharged_on", "2026-06-02", "still to come"),
        ("discharged_on", "2026-01-04", "not open yet"),
        ("discharged_on", "", "required"),
        ("reason", "", "required"),
        ("reason", "plateau", "Choose one of these"),
    ],
)
def test_what_does_not_fit_is_said_at_its_field(
    client: Client, case: Episode, field: str, value: str, sentence: str
) -> None:
    """Nothing is half-saved."""
    answer = client.post(page(case), ending(**{field: value}))
    assert answer.status_code == 422
    assert sentence in words(answer)
    case.refresh_from_db()
    assert case.is_open


def test_a_case_does_not_end_before_its_last_visit(
    client: Client, case: Episode, today: date
) -> None:
    """The sentence names the entry that stands in the way."""
    make_visit(episode=case, on=today - timedelta(days=3))
    sent = ending(discharged_on=(today - timedelta(days=4)).isoformat())
    answer = client.post(page(case), sent)
    assert "entry of 29 May 2026" in words(answer)


def test_a_double_tap_discharges_once(client: Client, case: Episode) -> None:
    """The second tap leads to the case."""
    filled = ending()
    client.post(page(case), filled)
    assert client.post(page(case), filled).url == f"/cases/{case.pk}/"
    assert AuditEvent.objects.filter(action="episode.discharged").count() == 1


def test_a_discharged_case_is_not_discharged_again(
    client: Client, case: Episode
) -> None:
    """The page turns back and says what to do."""
    client.post(page(case), ending())
    answer = client.get(page(case), follow=True)
    assert "Take the discharge back first" in words(answer)


# Taking it back


@pytest.fixture
def ended(case: Episode, clinician: User) -> Episode:
    """A case that was discharged in March."""
    discharge(
        case,
        by=clinician,
        on=date(2026, 3, 2),
        reason="moved away",
        note="",
        version=1,
    )
    return case


def test_a_discharge_by_mistake_is_taken_back(client: Client, ended: Episode) -> None:
    """With a reason."""
    path = f"/cases/{ended.pk}/take-back/"
    assert client.post(path, {"why": "", "version": "2"}).status_code == 422
    answer = client.post(path, {"why": "Wrong case", "version": "2"})
    assert answer.url == f"/cases/{ended.pk}/"
    ended.refresh_from_db()
    assert ended.is_open


def test_a_case_in_care_has_nothing_to_take_back(client: Client, case: Episode) -> None:
    """The page turns back to the case."""
    answer = client.get(f"/cases/{case.pk}/take-back/")
    assert answer.url == f"/cases/{case.pk}/"


def test_a_discharge_stands_once_the_knee_has_a_later_episode(
    client: Client, ended: Episode, clinician: User
) -> None:
    """The page links to the later one; a POST changes nothing."""
    later = make_episode(
        by=clinician, patient=ended.patient, opened_on=date(2026, 4, 6)
    )
    path = f"/cases/{ended.pk}/take-back/"
    assert f'href="/cases/{later.pk}/"' in words(client.get(path))
    client.post(path, {"why": "Wrong case", "version": "2"})
    ended.refresh_from_db()
    assert not ended.is_open
