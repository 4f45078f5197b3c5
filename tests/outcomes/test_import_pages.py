"""Bringing records in from the browser: upload, look, decide."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from clinic.models import Episode, User
from outcomes.importing import uploading
from outcomes.models import PendingImport
from outcomes.views import importing
from tests.outcomes.import_files import ON, episodes, facts, pain

UPLOAD = reverse("outcomes:import")
KEY = "0f0e7a53-3c1f-4d7e-9c2e-6d3c6b1c9a11"


@pytest.fixture
def browser(
    lead: User,
    clinician: User,
    signed_in: Callable[[User], Client],
    clock: Callable[[date], None],
) -> Client:
    """The lead's browser, on the day after the log ends."""
    clock(ON)
    return signed_in(lead)


def send(browser: Client, first: bytes, second: bytes, **fields: Any) -> Any:
    """Upload two files."""
    files = {
        "patients": SimpleUploadedFile("patients.csv", first),
        "observations": SimpleUploadedFile("observations.csv", second),
    }
    return browser.post(UPLOAD, {**files, **fields})


def uploaded(browser: Client, first: bytes, second: bytes, **fields: Any) -> str:
    """Upload two files and return the address of their preview."""
    response = send(browser, first, second, **fields)
    assert response.status_code == 302
    return str(response.url)


def test_the_page_asks_for_two_files(browser: Client) -> None:
    """It works without scripts."""
    page = browser.get(UPLOAD)
    assert page.status_code == 200
    assert b'enctype="multipart/form-data"' in page.content
    page = browser.post(UPLOAD)
    assert page.status_code == 422
    assert page.content.count(b"Choose the file.") >= 2


def test_the_preview_shows_what_would_come_in(browser: Client) -> None:
    """Nothing is stored yet."""
    url = uploaded(browser, episodes(), facts({}, pain("worst", "6")))
    page = browser.get(url)
    assert page.status_code == 200
    assert "Bring these records in" in page.content.decode()
    assert not Episode.objects.exists()


def test_saying_yes_stores_once(browser: Client) -> None:
    """The second tap of the same form changes nothing and leads to the same page."""
    url = uploaded(browser, episodes(), facts({}))
    answer = {"act": "store", "form_key": KEY}
    first, second = browser.post(url, answer), browser.post(url, answer)
    assert first.url == second.url == reverse("outcomes:caseload")
    assert Episode.objects.count() == 1
    assert not PendingImport.objects.exists()
    assert "Everything was stored. New: patients 1, episodes 1" in str(
        [*browser.get(first.url).context["messages"]]
    )


def test_faults_are_listed_and_nothing_can_be_stored(browser: Client) -> None:
    """File, line, column and what to do; there is no button to store."""
    page = send(browser, episodes(), facts(pain("worst", "x"), {"side": "right"}))
    text = page.content.decode()
    assert page.status_code == 422
    assert "Nothing was stored: 2 faults were found." in text
    assert "Pain is a whole number from 0 to 10; here it says x." in text
    assert 'value="store"' not in text
    assert "Upload corrected files" in text
    assert not Episode.objects.exists()
    assert not PendingImport.objects.exists()


def test_files_that_became_faulty_meanwhile_are_not_stored(
    browser: Client, clinician: User
) -> None:
    """The check runs again when they are to be stored."""
    url = uploaded(browser, episodes(), facts({}))
    User.objects.filter(pk=clinician.pk).update(username="somebody.else")
    page = browser.post(url, {"act": "store", "form_key": KEY})
    assert page.status_code == 422
    assert "1 person is missing here" in page.content.decode()
    assert not Episode.objects.exists()


def test_missing_people_lead_to_the_page_people(browser: Client) -> None:
    """Once, with a link, and without a command that a browser cannot run."""
    rows = facts({"recorded_by": "m.orrin"}, pain("worst", "4", recorded_by="m.orrin"))
    text = send(browser, episodes(), rows).content.decode()
    assert "1 person is missing here: m.orrin (2 rows)." in text
    assert f'<a href="{reverse("people")}">People</a> first' in text
    assert "manage.py" not in text


def test_swapped_files_are_recognised(browser: Client) -> None:
    """One sentence instead of a list of columns."""
    text = send(browser, facts({}), episodes()).content.decode()
    assert "These two files seem to be swapped" in text
    assert "Nothing was stored: 1 fault was found." in text
    text = send(browser, episodes(), episodes()).content.decode()
    assert "This file has the columns of patients.csv" in text


def test_what_waits_is_listed_with_names_and_result(browser: Client) -> None:
    """So that two uploads can be told apart."""
    uploaded(browser, episodes(), facts({}))
    text = browser.get(UPLOAD).content.decode()
    assert "patients.csv and observations.csv</a>, uploaded on" in text
    assert "New: patients 1, episodes 1" in text


def test_a_long_list_of_faults_is_cut(
    browser: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """All are counted, the first of them are listed."""
    monkeypatch.setattr(importing, "SHOWN", 3)
    page = send(browser, episodes(), facts(*[pain("worst", "x")] * 5))
    text = page.content.decode()
    assert "5 faults were found" in text
    assert "The first 3 are listed here." in text
    assert text.count("here it says x") == 3


def test_cells_are_shown_as_text(browser: Client) -> None:
    """Markup in a file stays text."""
    page = send(browser, episodes(), facts(pain("worst", "<b>7</b>")))
    assert b"<b>7</b>" not in page.content


def test_files_can_be_put_away(browser: Client) -> None:
    """They are deleted, and nothing is stored."""
    url = uploaded(browser, episodes(), facts({}))
    answer = {"act": "put_away", "form_key": KEY}
    assert browser.post(url, answer).url == UPLOAD
    assert browser.post(url, answer).url == UPLOAD
    assert not PendingImport.objects.exists()
    assert not Episode.objects.exists()
    assert browser.get(url).status_code == 404


def test_an_answer_that_is_none_stores_nothing(browser: Client) -> None:
    """Neither yes nor no: the preview comes back."""
    url = uploaded(browser, episodes(), facts({}))
    assert browser.post(url, {"form_key": KEY}).status_code == 422
    assert not Episode.objects.exists()


def test_day_first_is_remembered(browser: Client) -> None:
    """The tick of the upload counts for preview and storing."""
    first = episodes({"symptom_onset": "10/01/2026"})
    url = uploaded(browser, first, facts({}), is_day_first="on")
    browser.post(url, {"act": "store", "form_key": KEY})
    assert Episode.objects.get().symptom_onset_on == date(2026, 1, 10)


def test_a_file_that_is_too_large_is_refused(
    browser: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The page says what to do, and keeps nothing."""
    monkeypatch.setattr(uploading, "MOST_BYTES", 100)
    page = send(browser, episodes(), facts({}))
    assert page.status_code == 422
    assert "This file is larger than" in page.content.decode()
    assert not PendingImport.objects.exists()


def test_only_the_uploader_sees_the_files(
    browser: Client,
    lead: User,
    site: Any,
    signed_in: Callable[[User], Client],
) -> None:
    """Not even another lead of the site."""
    url = uploaded(browser, episodes(), facts({}))
    other = User.objects.create_user("h.fenby", site=site, role="lead")
    assert signed_in(other).get(url).status_code == 404
    answer = {"act": "store", "form_key": KEY}
    assert signed_in(other).post(url, answer).status_code == 404
    assert url not in signed_in(other).get(UPLOAD).content.decode()
    assert url in browser.get(UPLOAD).content.decode()


def test_what_is_not_decided_within_a_day_is_deleted(
    browser: Client, clock: Callable[[date], None]
) -> None:
    """The next visit to the page clears it away."""
    url = uploaded(browser, episodes(), facts({}))
    PendingImport.objects.update(uploaded_at=timezone.now() - timedelta(hours=25))
    assert browser.get(url).status_code == 404
    browser.get(UPLOAD)
    assert not PendingImport.objects.exists()


def test_only_the_lead_brings_records_in(
    clinician: User, administrator: User, signed_in: Callable[[User], Client]
) -> None:
    """Others are refused."""
    assert signed_in(clinician).get(UPLOAD).status_code == 403
    assert signed_in(administrator).get(UPLOAD).status_code == 403


def test_records_that_are_there_already_need_no_yes(browser: Client) -> None:
    """The preview says so, and offers to put the files away."""
    first = uploaded(browser, episodes(), facts({}))
    browser.post(first, {"act": "store", "form_key": KEY})
    text = browser.get(uploaded(browser, episodes(), facts({}))).content.decode()
    assert "was there already" in text
    assert 'value="store"' not in text
