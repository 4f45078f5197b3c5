"""The lead's pages of exports: what was given out, a preview, and the file."""

import hashlib
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.core.signals import request_finished
from django.db import close_old_connections
from django.test import Client
from django.utils import timezone

from clinic.models import AuditEvent, Episode, User
from outcomes.exporting.beginning import begin_export
from outcomes.models import AuditExport
from tests.factories import confirm_passphrase
from tests.outcomes.exporting.exported import (
    exported,
    make_cases,
    opened,
    rows_of,
    wanted,
)

TYPED = {
    "recipient": "Invented audit office",
    "purpose": "An invented question",
    "legal_basis": "An invented rule",
    "destroy_by_on": "2099-12-31",
    "from_on": "2026-01-01",
    "until_on": "2026-05-31",
}


@pytest.fixture
def cases(clinician: User, clock: Callable[[date], None]) -> list[Episode]:
    """A dozen people who are alike for a stranger."""
    return make_cases(by=clinician, count=12)


@pytest.fixture
def client(
    lead: User, cases: list[Episode], signed_in: Callable[[User], Client]
) -> Client:
    """The lead's browser, with the passphrase typed just now."""
    client = signed_in(lead)
    confirm_passphrase(client)
    return client


def text(response: Any) -> str:
    """Return a page in which line breaks and gaps do not count."""
    return " ".join(response.content.decode().split())


def preview(client: Client, **changes: str) -> str:
    """Fill in the form and return the preview."""
    answer = client.post("/exports/new/", TYPED | changes)
    assert answer.status_code == 302 and answer.url == "/exports/preview/"
    return text(client.get(answer.url))


def test_before_the_first_export_the_list_says_what_it_takes(client: Client) -> None:
    """An empty list tells what an export is."""
    page = text(client.get("/exports/"))
    assert "Nothing was given out yet" in page and "/exports/new/" in page


def test_a_new_export_asks_for_the_passphrase(
    lead: User, signed_in: Callable[[User], Client], cases: list[Episode]
) -> None:
    """And leads on from there, also where a late form has no page of its own."""
    client = signed_in(lead)
    new = "/confirm/?next=%2Fexports%2Fnew%2F"
    assert client.get("/exports/new/").url == new
    assert client.post("/exports/file/", TYPED).url == new
    assert not AuditExport.objects.exists()


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("recipient", "", "Fill this in."),
        ("legal_basis", "", "Fill this in."),
        ("destroy_by_on", "2026-06-01", "This day has to lie in the future."),
        ("until_on", "2026-06-02", "This day is still to come."),
        ("until_on", "2025-01-01", "This day is before the first one"),
    ],
)
def test_what_is_missing_is_said_at_its_field(
    client: Client, field: str, value: str, words: str
) -> None:
    """Nothing goes on before everything is said."""
    answer = client.post("/exports/new/", TYPED | {field: value})
    assert answer.status_code == 422 and words in text(answer)


def test_the_preview_shows_what_would_leave_and_writes_nothing(
    client: Client, cases: list[Episode]
) -> None:
    """People, rows, level, sample, and the words of the law; no name and no key."""
    patient = cases[0].patient
    patient.audit_declined_on, patient.audit_declined_how = date(2026, 2, 2), "register"
    patient.save()
    page = preview(client)
    assert "11 episodes of 11 people." in page
    assert "1 person who decline" in page
    assert "<td>30 to 39</td><td>F</td><td>left</td>" in page
    assert "drawn at random" in page and "pseudonymised" in page
    assert cases[1].patient.family_name not in page
    assert not AuditExport.objects.exists()
    assert not AuditEvent.objects.filter(action__startswith="export").exists()


def test_the_setting_chooses_the_words(client: Client, settings: Any) -> None:
    """The law of the place, named as it is there."""
    settings.JURISDICTION = "united-states"
    assert "164.514" in preview(client)


def test_what_was_typed_comes_back(client: Client) -> None:
    """Going back from the preview loses nothing."""
    preview(client)
    assert "An invented rule" in text(client.get("/exports/new/"))


def test_a_preview_of_nothing_leads_to_the_form(client: Client) -> None:
    """The address alone has nothing to show."""
    assert client.get("/exports/preview/").url == "/exports/new/"


def test_the_file_is_streamed_and_on_record(client: Client) -> None:
    """An attachment that nothing keeps, whole, and marked complete at its end."""
    answer = client.post("/exports/file/", TYPED)
    assert answer.streaming and answer["Content-Type"] == "application/zip"
    assert answer["Cache-Control"] == "no-store"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Disposition"] == (
        'attachment; filename="export-for-audit-20260601-100000.zip"'
    )
    data = b"".join(answer.streaming_content)
    assert len(rows_of(opened(data)["episodes.csv"])) == 12
    export = AuditExport.objects.get()
    assert export.sha256 == hashlib.sha256(data).hexdigest()
    line = AuditEvent.objects.get(action="export.begun")
    assert line.request_id == answer["X-Request-Id"]
    assert export.sha256 in text(client.get(f"/exports/{export.pk}/"))


def test_a_second_tap_makes_no_second_export(client: Client) -> None:
    """It leads to the one that was begun."""
    sent = TYPED | {"form_key": "1f0e0a52-95f9-4d0b-a2f5-3a5a1f3b2c11"}
    b"".join(client.post("/exports/file/", sent).streaming_content)
    again = client.post("/exports/file/", sent)
    export = AuditExport.objects.get()
    assert again.status_code == 302 and again.url == f"/exports/{export.pk}/"


def test_a_broken_connection_stops_it(client: Client) -> None:
    """The server closes the answer; the pages say what became of it."""
    answer = client.post("/exports/file/", TYPED)
    # As the client itself does, so that the test keeps its connection.
    request_finished.disconnect(close_old_connections)
    answer.close()
    request_finished.connect(close_old_connections)
    export = AuditExport.objects.get()
    assert export.state == AuditExport.State.STOPPED
    assert "This file is not whole" in text(client.get(f"/exports/{export.pk}/"))
    assert "Stopped before its end" in text(client.get("/exports/"))


def test_an_overlap_that_singles_out_is_refused(
    client: Client, clinician: User, lead: User
) -> None:
    """In the preview, without a button, and again where the form is sent anyway."""
    exported(lead)
    make_cases(by=clinician, count=1)
    page = preview(client)
    assert "This export is not made" in page and "/exports/file/" not in page
    assert "Refused: one taken from the other singles people out." in page
    answer = client.post("/exports/file/", TYPED)
    assert answer.status_code == 422 and "This export is not made" in text(answer)
    assert AuditExport.objects.count() == 1


def test_the_same_people_again_are_warned_of(client: Client, lead: User) -> None:
    """It is allowed, and said."""
    exported(lead)
    assert "The same people leave twice." in preview(client)


def test_too_few_people_are_refused(client: Client) -> None:
    """With what to do instead."""
    page = preview(client, until_on="2026-01-04")
    assert "This export is not made" in page and "Choose another period" in page


def test_the_list_names_files_that_should_be_gone(client: Client, lead: User) -> None:
    """A stopped one is not asked for."""
    begin_export(wanted(), by=lead)
    AuditExport.objects.update(destroy_by_on=date(2026, 5, 1))
    assert "This day has passed." in text(client.get("/exports/"))
    AuditExport.objects.update(made_at=timezone.now() - timedelta(days=1))
    page = text(client.get("/exports/"))
    assert "This day has passed." not in page and "Stopped before its end" in page


def test_another_sites_exports_are_not_listed(
    client: Client, stranger: User, lead: User
) -> None:
    """Neither in the list nor by their number."""
    made = AuditExport.objects.create(
        site=stranger.site,
        made_by=stranger,
        recipient="A neighbour",
        destroy_by_on=date(2026, 5, 1),
        from_on=date(2026, 1, 1),
        until_on=date(2026, 1, 2),
    )
    assert "A neighbour" not in text(client.get("/exports/"))
    assert client.get(f"/exports/{made.pk}/").status_code == 404
