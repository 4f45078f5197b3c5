"""Admitting people, opening, changing and voiding episodes."""

import uuid
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client

from clinic.admitting import change_episode, discharge
from clinic.models import AuditEvent, Episode, Patient, Screen, User
from clinic.screening import questions
from tests.factories import make_episode, make_patient, make_visit

pytestmark = pytest.mark.usefixtures("clock")


def person(**changes: str) -> dict[str, str]:
    """Return a filled form for a new patient."""
    filled = {
        "record_number": "K 17",
        "family_name": "Invented",
        "given_name": "Ora",
        "birth_date": "1990-04-03",
        "sex": "F",
        "form_key": str(uuid.uuid4()),
    }
    return {**filled, **changes}


def screen_answers(*yes: str) -> dict[str, str]:
    """Return a full screen in which the named concerns are answered with yes."""
    asked = questions("full", age=30)
    return {f"screen-{c.key}": "yes" if c.key in yes else "no" for c in asked}


@pytest.fixture
def episode(clinician: User, today: date) -> dict[str, str]:
    """A filled form for a new episode."""
    return {
        "side": "left",
        "symptom_onset_on": (today - timedelta(days=90)).isoformat(),
        "opened_on": today.isoformat(),
        "clinician": str(clinician.pk),
        "activity_level": "sport",
        "sport": "rowing",
        "goals": "Stairs without thinking of it",
        "provoked_by": "moderate",
        "pain_when_provoked": "5",
        "settles_in": "hour",
        "irritability": "moderate",
        "primary_measure": "akps",
        "schedule_weeks": "",
        "form_key": str(uuid.uuid4()),
        **screen_answers(),
    }


@pytest.fixture
def client(clinician: User, signed_in: Any) -> Client:
    """The clinician's browser."""
    return signed_in(clinician)


@pytest.fixture
def patient(clinician: User) -> Patient:
    """A person without an episode."""
    return make_patient(by=clinician)


def opening(patient: Patient) -> str:
    """Return the address of the form for an episode."""
    return f"/patients/{patient.pk}/episodes/new/"


def words(answer: Any) -> str:
    """Return the text of an answer."""
    return answer.content.decode()


# People


def test_a_new_person_goes_straight_on_to_the_episode(client: Client) -> None:
    """Admitting is one way from the name to the knee."""
    answer = client.post("/patients/new/", person())
    made = Patient.objects.get()
    assert answer.url == f"/patients/{made.pk}/episodes/new/"
    assert client.get(answer.url).status_code == 200


def test_a_double_tap_admits_once(client: Client) -> None:
    """The second tap leads on instead of complaining of the number."""
    filled = person()
    first, second = [client.post("/patients/new/", filled).url for _ in range(2)]
    assert first == second
    assert Patient.objects.count() == 1


def test_a_record_number_is_used_once_at_a_site(
    client: Client, patient: Patient
) -> None:
    """The answer links to the person who has the number."""
    answer = client.post(
        "/patients/new/", person(record_number=patient.record_number.lower())
    )
    assert answer.status_code == 422
    assert f'href="/patients/{patient.pk}/"' in words(answer)
    assert 'value="Ora"' in words(answer)
    assert Patient.objects.count() == 1


def test_another_sites_numbers_are_neither_seen_nor_in_the_way(
    client: Client, stranger: User
) -> None:
    """Two clinics number as they like."""
    theirs = make_patient(by=stranger, record_number="K 17")
    answer = client.post("/patients/new/", person())
    assert answer.status_code == 302
    assert str(theirs) not in words(client.get(answer.url))


def test_the_same_name_and_birth_date_ask_back_once(
    client: Client, clinician: User
) -> None:
    """A tick says that it is another person."""
    twin = make_patient(
        by=clinician, family_name="Invented", birth_date=date(1990, 4, 3)
    )
    answer = client.post("/patients/new/", person())
    assert answer.status_code == 422
    assert f'href="/patients/{twin.pk}/"' in words(answer)
    again = client.post("/patients/new/", person(is_another_person="on"))
    assert again.status_code == 302
    assert Patient.objects.count() == 2


@pytest.mark.parametrize(
    ("born", "sentence"),
    [
        ("2026-06-02", "still to come"),
        ("1905-06-01", "more than 120 years ago"),
        ("yesterday", "Write the day like"),
        ("", "required"),
    ],
)
def test_a_birth_date_is_sane(client: Client, born: str, sentence: str) -> None:
    """Not to come, not out of living memory; today's babies may be born today."""
    answer = client.post("/patients/new/", person(birth_date=born))
    assert answer.status_code == 422
    assert sentence in words(answer)
    assert not Patient.objects.exists()


@pytest.mark.parametrize("born", ["2026-06-01", "1905-06-02"])
def test_the_ends_of_the_range_are_let_in(client: Client, born: str) -> None:
    """Born today, and 120 years old on the last day of it."""
    assert client.post("/patients/new/", person(birth_date=born)).status_code == 302


def test_details_of_a_person_can_be_changed(client: Client, patient: Patient) -> None:
    """Only what was changed on the page is saved, before and after on record."""
    path = f"/patients/{patient.pk}/details/"
    shown = {
        f"initial-{name}": str(getattr(patient, name))
        for name in ("record_number", "family_name", "given_name", "birth_date", "sex")
    }
    # Meanwhile somebody else corrects the given name.
    Patient.objects.update(given_name="Corrected")
    sent = {name.removeprefix("initial-"): value for name, value in shown.items()}
    answer = client.post(path, {**shown, **sent, "sex": "X"})
    assert answer.url == f"/patients/{patient.pk}/"
    patient.refresh_from_db()
    assert (patient.sex, patient.given_name) == ("X", "Corrected")
    detail = AuditEvent.objects.get(action="patient.changed").detail
    assert detail == {"before": {"sex": "F"}, "after": {"sex": "X"}}


def test_saving_without_a_change_is_no_act(client: Client, patient: Patient) -> None:
    """The trail holds no line that says nothing."""
    names = ("record_number", "family_name", "given_name", "birth_date", "sex")
    sent = {name: str(getattr(patient, name)) for name in names}
    shown = {f"initial-{name}": value for name, value in sent.items()}
    client.post(f"/patients/{patient.pk}/details/", {**sent, **shown})
    assert not AuditEvent.objects.filter(action="patient.changed").exists()


def test_a_person_without_an_episode_is_not_lost(
    client: Client, patient: Patient
) -> None:
    """The page for new patients leads back to them."""
    assert opening(patient) in words(client.get("/patients/new/"))


def test_the_page_of_a_person_shows_both_knees(
    client: Client, clinician: User, today: date
) -> None:
    """Open and closed, each with its link."""
    left = make_episode(by=clinician, side="left")
    discharge(left, by=clinician, on=today, reason="moved away", note="", version=1)
    right = make_episode(by=clinician, patient=left.patient, side="right")
    text = words(client.get(f"/patients/{left.patient_id}/"))
    for case in (left, right):
        assert f'href="/cases/{case.pk}/"' in text
    assert "moved away" in text
    assert "in care" in text


# Opening an episode


def test_an_episode_opens_with_its_screen(
    client: Client, patient: Patient, episode: dict[str, str]
) -> None:
    """Both in one save, or neither."""
    answer = client.post(opening(patient), episode)
    case = Episode.objects.get()
    assert answer.url == f"/cases/{case.pk}/"
    assert (case.side, case.sport, case.pain_when_provoked) == ("left", "rowing", 5)
    assert case.schedule_weeks == []
    screen = case.screens.get()
    assert (screen.form, screen.is_positive) == ("full", False)
    assert len(screen.answers) == 11


def test_no_question_of_the_screen_can_be_left_out(
    client: Client, patient: Patient, episode: dict[str, str]
) -> None:
    """Each one is asked for by name, nothing is saved, what was typed stays."""
    for key in [name for name in episode if name.startswith("screen-")]:
        rest = {name: value for name, value in episode.items() if name != key}
        answer = client.post(opening(patient), rest)
        assert answer.status_code == 422, key
        assert words(answer).count("Answer yes or no.") == 2, key
        assert 'value="rowing"' in words(answer)
    assert not Episode.objects.exists()
    assert not Screen.objects.exists()


def test_nothing_is_answered_in_advance(client: Client, patient: Patient) -> None:
    """A screen that is skipped is not a screen of noes."""
    text = words(client.get(opening(patient)))
    assert "checked" not in text.split("Red-flag screen")[1]


def test_a_yes_without_a_decision_leads_to_the_decision(
    client: Client, patient: Patient, episode: dict[str, str]
) -> None:
    """It is saved all the same; the next page says what stays blocked."""
    answer = client.post(opening(patient), episode | screen_answers("tumour"))
    screen = Screen.objects.get()
    assert screen.is_positive
    assert screen.decided_at is None
    assert answer.url == f"/screens/{screen.pk}/decide/"
    assert "no advice on progress" in words(client.get(answer.url))


def test_a_yes_with_a_decision_leads_to_the_case(
    client: Client, patient: Patient, episode: dict[str, str]
) -> None:
    """The decision is kept with the screen."""
    decision = {"screen-decision": "Sent to the urgent route."}
    sent = episode | screen_answers("tumour") | decision
    answer = client.post(opening(patient), sent)
    assert answer.url.startswith("/cases/")
    assert Screen.objects.get().decision == "Sent to the urgent route."


def test_a_double_tap_opens_one_episode(
    client: Client, patient: Patient, episode: dict[str, str]
) -> None:
    """The second tap leads to the same case."""
    first, second = [client.post(opening(patient), episode).url for _ in range(2)]
    assert first == second
    assert Episode.objects.count() == Screen.objects.count() == 1


def test_one_knee_has_one_open_episode(
    client: Client, clinician: User, episode: dict[str, str]
) -> None:
    """The answer links to the one that is open."""
    case = make_episode(by=clinician, side="left")
    answer = client.post(opening(case.patient), episode)
    assert answer.status_code == 422
    assert "has an open episode since 5 Jan 2026" in words(answer)
    assert f'href="/cases/{case.pk}/"' in words(answer)
    answer = client.post(opening(case.patient), episode | {"side": "right"})
    assert answer.status_code == 302


@pytest.mark.parametrize(("days", "status"), [(-1, 422), (0, 302), (1, 302)])
def test_episodes_of_a_knee_do_not_share_days(
    client: Client,
    clinician: User,
    episode: dict[str, str],
    days: int,
    status: int,
) -> None:
    """The next one opens on the last day of the earlier one, or later."""
    ended_on = date(2026, 3, 2)
    earlier = make_episode(by=clinician, side="left")
    discharge(earlier, by=clinician, on=ended_on, reason="other", note="", version=1)
    opened_on = (ended_on + timedelta(days=days)).isoformat()
    dates = {"opened_on": opened_on, "symptom_onset_on": "2025-12-01"}
    answer = client.post(opening(earlier.patient), episode | dates)
    assert answer.status_code == status
    if status == 302:
        assert Episode.objects.open().get().continues == earlier
    else:
        assert "cannot share days" in words(answer)


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("opened_on", "2026-06-02", "still to come"),
        ("opened_on", "1980-01-01", "not born yet"),
        ("symptom_onset_on", "2026-06-02", "cannot begin after"),
        ("symptom_onset_on", "1980-01-01", "not born yet"),
        ("side", "both", "Choose one of these"),
        ("side", "", "required"),
        ("primary_measure", "groc", "Choose one of these"),
        ("pain_when_provoked", "11", "Choose one of these"),
        ("schedule_weeks", "3, 6", "first week must be 0"),
        ("schedule_weeks", "0, six", "whole number"),
        ("schedule_weeks", "0, 1, 2", "less than 7 days"),
        ("clinician", "", "required"),
    ],
)
def test_what_does_not_fit_is_said_at_its_field(
    client: Client,
    patient: Patient,
    episode: dict[str, str],
    field: str,
    value: str,
    sentence: str,
) -> None:
    """Nothing is saved, and nothing typed is lost."""
    answer = client.post(opening(patient), episode | {field: value})
    assert answer.status_code == 422
    assert sentence in words(answer)
    assert "Stairs without thinking of it" in words(answer)
    assert not Episode.objects.exists()


def test_symptoms_may_begin_on_the_day_of_opening(
    client: Client, patient: Patient, episode: dict[str, str], today: date
) -> None:
    """A fresh knee is a knee too."""
    sent = episode | {"symptom_onset_on": today.isoformat()}
    assert client.post(opening(patient), sent).status_code == 302


def test_a_case_may_have_its_own_schedule(
    client: Client, patient: Patient, episode: dict[str, str]
) -> None:
    """Read with the rules of the review policy."""
    client.post(opening(patient), episode | {"schedule_weeks": "0, 4, 8"})
    assert Episode.objects.get().schedule_weeks == [0, 4, 8]


def test_the_case_goes_to_a_clinician_of_this_site(
    client: Client,
    patient: Patient,
    episode: dict[str, str],
    stranger: User,
    administrator: User,
    colleague: User,
) -> None:
    """Neither to another clinic nor to somebody who does not treat."""
    for person_ in (stranger, administrator):
        sent = episode | {"clinician": str(person_.pk)}
        assert client.post(opening(patient), sent).status_code == 422
        assert str(person_) not in words(client.get(opening(patient)))
    client.post(opening(patient), episode | {"clinician": str(colleague.pk)})
    assert Episode.objects.get().clinician == colleague


@pytest.mark.parametrize(
    ("born", "shown"), [("2009-06-02", True), ("2008-06-01", False)]
)
def test_ages_without_evidence_are_named(
    client: Client, clinician: User, born: str, shown: bool
) -> None:
    """Under 18 the thresholds come from older people."""
    young = make_patient(by=clinician, birth_date=date.fromisoformat(born))
    text = words(client.get(opening(young)))
    assert ("outside the ages these were measured in" in text) is shown
    assert ("Under 18 the hip question is always asked" in text) is shown


# Changing and voiding


def details(case: Episode, **changes: str) -> dict[str, str]:
    """Return the filled form of an episode's details."""
    filled = {
        "side": case.side,
        "symptom_onset_on": case.symptom_onset_on.isoformat(),
        "opened_on": case.opened_on.isoformat(),
        "primary_measure": case.primary_measure,
        "version": str(case.version),
        "form_key": str(uuid.uuid4()),
    }
    return {**filled, **changes}


def test_details_of_a_case_can_be_changed(client: Client, clinician: User) -> None:
    """Before and after stay on record."""
    case = make_episode(by=clinician)
    sent = details(case, goals="Run 5 km", schedule_weeks="0, 6, 12")
    assert client.post(f"/cases/{case.pk}/details/", sent).status_code == 302
    case.refresh_from_db()
    assert (case.goals, case.schedule_weeks) == ("Run 5 km", [0, 6, 12])
    detail = AuditEvent.objects.get(action="episode.changed").detail
    assert detail["after"]["goals"] == "Run 5 km"


def test_a_change_on_an_old_page_shows_both_and_keeps_the_typing(
    client: Client, clinician: User
) -> None:
    """Saving again, knowingly, replaces what is stored."""
    case = make_episode(by=clinician)
    old = details(case, sport="typed by me")
    change_episode(
        case, by=clinician, version=1, changes={"sport": "stored by another"}
    )
    path = f"/cases/{case.pk}/details/"
    answer = client.post(path, old)
    assert answer.status_code == 409
    assert "stored by another" in words(answer)
    assert 'value="typed by me"' in words(answer)
    case.refresh_from_db()
    assert case.sport == "stored by another"
    again = old | {"version": str(answer.context["version"])}
    assert client.post(path, again).status_code == 302
    case.refresh_from_db()
    assert case.sport == "typed by me"


def test_a_measured_knee_stays_the_knee(
    client: Client, clinician: User, today: date
) -> None:
    """An empty case may change sides; one with visits may not."""
    case = make_episode(by=clinician, side="left")
    path = f"/cases/{case.pk}/details/"
    assert client.post(path, details(case, side="right")).status_code == 302
    case.refresh_from_db()
    assert case.side == "right"
    make_visit(episode=case, on=today)
    answer = client.post(path, details(case, side="left"))
    assert answer.status_code == 422
    assert "visits, measures or letters of the other knee" in words(answer)


def test_another_knee_has_another_past(client: Client, clinician: User) -> None:
    """A case that changes sides continues the earlier episode of its new side."""
    left = make_episode(by=clinician, side="left", opened_on=date(2025, 1, 6))
    ended_on = date(2025, 3, 3)
    discharge(left, by=clinician, on=ended_on, reason="other", note="", version=1)
    case = make_episode(by=clinician, patient=left.patient, side="left")
    assert case.continues == left
    path = f"/cases/{case.pk}/details/"
    assert client.post(path, details(case, side="right")).status_code == 302
    case.refresh_from_db()
    assert case.continues is None


def test_an_empty_case_can_be_voided(client: Client, clinician: User) -> None:
    """It leaves the pages and stays on record, with the reason."""
    case = make_episode(by=clinician)
    path = f"/cases/{case.pk}/void/"
    assert client.post(path, {"why": "", "version": "1"}).status_code == 422
    answer = client.post(path, {"why": "Wrong person", "version": "1"})
    assert answer.url == f"/patients/{case.patient_id}/"
    case.refresh_from_db()
    assert (case.void_reason, case.voided_by) == ("Wrong person", clinician)
    assert f"/cases/{case.pk}/" not in words(client.get(answer.url))


def test_a_case_with_visits_cannot_be_voided(
    client: Client, clinician: User, today: date
) -> None:
    """Its visits come first."""
    case = make_episode(by=clinician)
    make_visit(episode=case, on=today)
    path = f"/cases/{case.pk}/void/"
    assert "holds visits, measures or letters" in words(client.get(path))
    client.post(path, {"why": "Wrong person", "version": "1"})
    case.refresh_from_db()
    assert case.is_standing


@pytest.mark.parametrize(
    "page", ["details", "void", "screen", "cover", "hand-over", "discharge"]
)
def test_a_voided_case_takes_nothing_more(
    client: Client, clinician: User, page: str
) -> None:
    """Every form turns back to the person's page."""
    case = make_episode(by=clinician)
    client.post(f"/cases/{case.pk}/void/", {"why": "Wrong person", "version": "1"})
    answer = client.get(f"/cases/{case.pk}/{page}/")
    assert answer.url == f"/patients/{case.patient_id}/"
