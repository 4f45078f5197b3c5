"""Who looked, who changed, who was refused: what goes on record and how it is read."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from clinic import admitting
from clinic.looking import ONE_LOOK_MINUTES
from clinic.models import AuditEvent, Episode, User
from outcomes.trail import PAGES
from tests.factories import make_episode, make_letter, make_visit
from tests.test_access import EXPECTED

SignIn = Callable[[User], Client]


def lines(code: str) -> list[AuditEvent]:
    """Return the lines of a code, oldest first."""
    return list(AuditEvent.objects.filter(action=code).order_by("pk"))


@pytest.fixture
def case(clinician: User, today: date, clock: Any) -> Episode:
    """A case of the clinician with one visit."""
    made = make_episode(by=clinician, opened_on=today - timedelta(days=30))
    make_visit(episode=made, on=today - timedelta(days=7))
    return made


# Looking


@pytest.mark.parametrize(
    "route",
    ["case", "patient", "bundle", "letter", "change_visit", "change_case", "log_visit"],
)
def test_opening_a_record_is_on_record(
    case: Episode, clinician: User, signed_in: SignIn, today: date, route: str
) -> None:
    """Who, whose, which page, and the request."""
    rows = {
        "patient": case.patient_id,
        "change_visit": case.visits.get().pk,
        "letter": make_letter(episode=case, on=today).pk,
    }
    row = rows.get(route, case.pk)
    answer = signed_in(clinician).get(reverse(f"outcomes:{route}", args=[row]))
    assert answer.status_code == 200
    (line,) = lines("record.opened")
    assert (line.by, line.patient) == (clinician, case.patient)
    assert line.detail == {"page": f"outcomes:{route}", "row": str(row)}
    assert line.request_id == answer["X-Request-Id"]


def test_coming_back_within_minutes_is_one_look(
    case: Episode,
    clinician: User,
    colleague: User,
    signed_in: SignIn,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Another page, another person or a later moment is another line."""
    client, path = signed_in(clinician), case.get_absolute_url()
    for _ in range(3):
        client.get(path)
    assert len(lines("record.opened")) == 1
    client.get(case.patient.get_absolute_url())
    signed_in(colleague).get(path)
    assert len(lines("record.opened")) == 3
    later = timezone.now() + timedelta(minutes=ONE_LOOK_MINUTES, seconds=1)
    monkeypatch.setattr(timezone, "now", lambda: later)
    client.get(path)
    assert len(lines("record.opened")) == 4


def test_a_page_without_its_line_is_not_shown(
    case: Episode,
    clinician: User,
    signed_in: SignIn,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Where the trail cannot be written, nothing of the record is answered."""

    def refuse(*args: Any, **kwargs: Any) -> None:
        raise RuntimeError("the trail is full")

    client = signed_in(clinician)
    client.raise_request_exception = False
    monkeypatch.setattr("clinic.models.record.AuditChain.seal", refuse)
    answer = client.get(case.get_absolute_url())
    assert answer.status_code == 500
    assert case.patient.family_name not in answer.content.decode()


# Refusals and sign-ins


def test_a_colleague_who_is_refused_is_on_record(
    case: Episode, colleague: User, signed_in: SignIn
) -> None:
    """With the person whose record it is, for the lead to ask."""
    path = reverse("outcomes:log_visit", args=[case.pk])
    assert signed_in(colleague).get(path).status_code == 403
    (line,) = lines("record.refused")
    assert (line.by, line.patient) == (colleague, case.patient)
    assert line.detail["status"] == 403
    assert lines("record.opened") == []


def test_a_stranger_who_guesses_is_on_record_at_their_own_site(
    case: Episode, stranger: User, signed_in: SignIn
) -> None:
    """The number that was tried, and nothing of whose it is."""
    assert signed_in(stranger).get(case.get_absolute_url()).status_code == 404
    (line,) = lines("record.refused")
    assert (line.by, line.patient, line.site) == (stranger, None, stranger.site)
    assert line.detail["row"] == str(case.pk)


@pytest.mark.parametrize("is_known", [True, False])
def test_a_failed_sign_in_is_on_record(clinician: User, *, is_known: bool) -> None:
    """For the account that was tried; an unknown name is not kept."""
    typed = clinician.username if is_known else "my own secret phrase"
    Client().post(reverse("sign_in"), {"username": typed, "password": "wrong"})
    (line,) = lines("session.sign_in_failed")
    assert line.by == (clinician if is_known else None)
    assert "secret" not in f"{line.by_name}{line.detail}"


def test_acts_carry_the_request(
    case: Episode, clinician: User, signed_in: SignIn
) -> None:
    """Every line says by which request it came."""
    sent = {"way": "call", "result": "reached", "tried_on": "2026-06-01", "note": ""}
    path = reverse("outcomes:log_contact", args=[case.pk])
    answer = signed_in(clinician).post(path, sent)
    assert answer.status_code == 302
    (line,) = lines("contact.logged")
    assert line.request_id == answer["X-Request-Id"]


# Reading


def test_the_lead_reads_who_looked_and_who_changed(
    case: Episode, clinician: User, lead: User, signed_in: SignIn
) -> None:
    """Newest first, by kind, with before and after."""
    signed_in(clinician).get(case.get_absolute_url())
    admitting.change_patient(
        case.patient, by=clinician, changes={"given_name": "Renamedette"}
    )
    client, path = signed_in(lead), reverse("outcomes:trail", args=[case.patient_id])
    page = client.get(path).content.decode()
    assert "Opened a page of the record: the case" in page
    assert "Renamedette" in page.split("<table")[1]
    looked = client.get(path, {"kind": "looked at"}).content.decode()
    assert "Changed the patient" not in looked
    assert "Opened a page of the record: the case" in looked


def test_the_trail_is_paged(
    case: Episode, clinician: User, lead: User, signed_in: SignIn
) -> None:
    """Fifty lines a page; an unknown page is the last."""
    for number in range(60):
        admitting.change_patient(
            case.patient, by=clinician, changes={"given_name": f"Name {number}"}
        )
    client, path = signed_in(lead), reverse("outcomes:trail", args=[case.patient_id])
    assert "Page 1 of 2" in client.get(path).content.decode()
    assert "Page 2 of 2" in client.get(path, {"page": "99"}).content.decode()


def test_the_report_for_the_person_lists_who_had_access(
    case: Episode, colleague: User, lead: User, signed_in: SignIn
) -> None:
    """And is itself a look at the record."""
    signed_in(colleague).get(case.get_absolute_url())
    path = reverse("outcomes:access_report", args=[case.patient_id])
    page = signed_in(lead).get(path).content.decode()
    assert str(colleague) in page
    assert lines("record.opened")[-1].detail["page"] == "outcomes:access_report"


def test_the_case_page_shows_what_entries_said_before(
    case: Episode, clinician: User, signed_in: SignIn
) -> None:
    """Who changed it, from what, to what; the case of the other knee is not shown."""
    admitting.change_episode(
        case, by=clinician, version=1, changes={"sport": "rowing", "goals": ""}
    )
    other = make_episode(by=clinician, patient=case.patient, side="right")
    admitting.change_episode(
        other, by=clinician, version=1, changes={"sport": "curling"}
    )
    page = signed_in(clinician).get(case.get_absolute_url()).content.decode()
    history = page.split("What was changed in entries")[1]
    assert "rowing" in history
    assert "curling" not in history


def test_the_queries_do_not_grow_with_the_trail(
    case: Episode, clinician: User, lead: User, signed_in: SignIn, query_count: Any
) -> None:
    """One line or thirty: the pages ask the same."""
    client = signed_in(lead)
    paths = [
        case.get_absolute_url(),
        reverse("outcomes:trail", args=[case.patient_id]),
        reverse("outcomes:access_report", args=[case.patient_id]),
    ]
    for path in paths:
        client.get(path)
    before = [query_count(client, path) for path in paths]
    for number in range(30):
        admitting.change_patient(
            case.patient, by=clinician, changes={"given_name": f"Name {number}"}
        )
    assert [query_count(client, path) for path in paths] == before


def test_pages_are_named_after_routes_that_exist() -> None:
    """A renamed route does not leave its words behind."""
    assert set(PAGES) <= set(EXPECTED)
