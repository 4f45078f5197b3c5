"""A form that arrives after the sign-in ran out: handed back, never dropped."""

from collections.abc import Callable
from datetime import date
from html.parser import HTMLParser
from typing import Any

import pytest
from django.core import signing
from django.test import Client

from clinic.held import SALT, read_held
from clinic.models import Episode, User, Visit
from tests.factories import PASSPHRASE, make_screened_episode
from tests.outcomes.visit_pages import attended, log_url, with_akps


class Inputs(HTMLParser):
    """The names and values that a page's forms would send, sign-out left aside."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.found: dict[str, list[str]] = {}
        self.feed(page.partition("<main")[2])

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep each hidden input."""
        given = dict(attrs)
        if tag == "input" and given.get("type") == "hidden":
            name, value = str(given["name"]), given.get("value") or ""
            self.found.setdefault(name, []).append(value)


def hidden_inputs(response: Any) -> dict[str, list[str]]:
    """Return the hidden fields of a page's main part."""
    return Inputs(response.content.decode()).found


@pytest.fixture
def episode(clinician: User, today: date, clock: Callable[[date], None]) -> Episode:
    """A case of the clinician, opened today."""
    return make_screened_episode(by=clinician, opened_on=today)


@pytest.fixture
def browser(clinician: User, episode: Episode) -> Client:
    """A browser that checks safety marks, with the visit form open."""
    client = Client(enforce_csrf_checks=True)
    client.force_login(clinician)
    client.get(log_url(episode))
    return client


def send_expired(browser: Client, episode: Episode, fields: dict[str, Any]) -> Any:
    """End the session on the server, then send the form that was open."""
    page = browser.get(log_url(episode))
    mark = hidden_inputs(page)["csrfmiddlewaretoken"][0]
    browser.session.flush()
    return browser.post(log_url(episode), {**fields, "csrfmiddlewaretoken": mark})


def sign_in(browser: Client, page: Any, who: User, passphrase: str = PASSPHRASE) -> Any:
    """Sign in on the page that holds the form."""
    fields = hidden_inputs(page)
    fields |= {"username": [who.username], "password": [passphrase]}
    return browser.post("/sign-in/", fields)


def test_the_form_comes_back_after_signing_in_and_is_saved(
    browser: Client, clinician: User, episode: Episode, today: date
) -> None:
    """From the expired post to the saved visit, every line of the note kept."""
    note = "Line one\r\nLine “two” & <three>\r\n" + "long " * 1900
    fields = attended(today, note=note, typed_by=clinician.pk, **with_akps(74))
    asked = send_expired(browser, episode, fields)
    assert asked.status_code == 401
    assert "What you entered is kept." in asked.content.decode()
    assert asked["Cache-Control"] == "no-store" and not Visit.objects.exists()
    back = sign_in(browser, asked, clinician)
    assert "It is <strong>not saved yet</strong>" in back.content.decode()
    saved = browser.post(log_url(episode), hidden_inputs(back))
    assert saved.status_code == 302 and saved.url == f"/cases/{episode.pk}/"
    visit = Visit.objects.get()
    assert visit.note == note.strip() and visit.assessments.get().score == 74


def test_a_wrong_passphrase_does_not_lose_the_form(
    browser: Client, clinician: User, episode: Episode, today: date
) -> None:
    """The second attempt still carries it."""
    fields = attended(today, note="Still here", typed_by=clinician.pk)
    asked = send_expired(browser, episode, fields)
    refused = sign_in(browser, asked, clinician, "not the passphrase")
    assert "held" in hidden_inputs(refused)
    back = sign_in(browser, refused, clinician)
    assert hidden_inputs(back)["note"] == ["Still here"]


def test_what_needs_mending_comes_back_filled_in(
    browser: Client, clinician: User, episode: Episode, today: date
) -> None:
    """The form was refused, not lost."""
    fields = attended(today, note="Kept", typed_by=clinician.pk, pain_worst="11")
    back = sign_in(browser, send_expired(browser, episode, fields), clinician)
    refused = browser.post(log_url(episode), hidden_inputs(back))
    assert refused.status_code == 422 and "Kept" in refused.content.decode()


def test_sent_again_it_is_saved_once(
    browser: Client, clinician: User, episode: Episode, today: date
) -> None:
    """The key of the form travels with it."""
    fields = attended(today, typed_by=clinician.pk)
    back = sign_in(browser, send_expired(browser, episode, fields), clinician)
    for _ in range(2):
        assert browser.post(log_url(episode), hidden_inputs(back)).status_code == 302
    assert Visit.objects.count() == 1


def test_nobody_is_handed_what_another_person_typed(
    browser: Client, clinician: User, colleague: User, episode: Episode, today: date
) -> None:
    """On a shared tablet the next person sees nothing of it."""
    fields = attended(today, note="Not for others", typed_by=clinician.pk)
    asked = send_expired(browser, episode, fields)
    other = sign_in(browser, asked, colleague).content.decode()
    assert "filled in by somebody else" in other
    assert "Not for others" not in other


def test_the_held_form_cannot_be_altered_on_the_way() -> None:
    """It is signed."""
    held = {"path": "/", "fields": {}}
    token = signing.dumps(held, salt=SALT, compress=True)
    assert read_held(token) == held
    assert read_held(token[:-1] + ("a" if token[-1] != "a" else "b")) is None
    assert read_held(signing.dumps(held, salt="other")) is None
    assert read_held("") is None


def test_htmx_is_sent_to_sign_in_and_back_to_the_page(
    browser: Client, episode: Episode, today: date
) -> None:
    """The page's script keeps the typing; `next` is the page, not the fragment."""
    page = f"http://testserver{log_url(episode)}"
    mark = hidden_inputs(browser.get(log_url(episode)))["csrfmiddlewaretoken"][0]
    browser.session.flush()
    response = browser.post(
        f"/cases/{episode.pk}/score/",
        {"measure": "akps", "csrfmiddlewaretoken": mark},
        headers={"HX-Request": "true", "HX-Current-URL": page},
    )
    assert response["HX-Redirect"] == f"/sign-in/?next={log_url(episode)}"


def test_a_missing_safety_mark_saves_nothing_and_says_what_to_do(
    browser: Client, episode: Episode, today: date
) -> None:
    """A page from before somebody signed in elsewhere."""
    response = browser.post(log_url(episode), attended(today))
    assert response.status_code == 403 and not Visit.objects.exists()
    assert "Nothing was saved: the page was out of date" in response.content.decode()
