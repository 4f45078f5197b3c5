"""The passphrase typed again before something that cannot be called back."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.contrib.sessions.models import Session
from django.http import HttpRequest, HttpResponse
from django.test import Client, RequestFactory
from django.utils import timezone

from clinic.fresh import CONFIRMED_AT, FRESH_MINUTES, is_fresh, requires_fresh
from clinic.models import AuditEvent, User
from clinic.views.confirming import MOST_ATTEMPTS
from tests.factories import PASSPHRASE

WRONG = "some other long passphrase"


@pytest.fixture
def client(lead: User, signed_in: Callable[[User], Client]) -> Client:
    """The lead's browser."""
    return signed_in(lead)


def confirm(client: Client, passphrase: str = PASSPHRASE, after: str = "") -> Any:
    """Send the page that asks again."""
    return client.post("/confirm/", {"passphrase": passphrase, "next": after})


def actions() -> list[str]:
    """Return what the audit trail holds of confirming."""
    lines = AuditEvent.objects.filter(action__contains="confirmed").order_by("pk")
    return [line.action for line in lines]


def test_the_right_passphrase_goes_on_and_is_on_record(client: Client) -> None:
    """It is remembered for a while, and the session gets a new key."""
    before = client.session.session_key
    answer = confirm(client, after="/measures/?x=1")
    assert answer.url == "/measures/?x=1"
    assert CONFIRMED_AT in client.session
    assert client.session.session_key != before
    assert not Session.objects.filter(session_key=before).exists()
    assert actions() == ["session.passphrase_confirmed"]


def test_a_wrong_passphrase_is_said_and_on_record_without_it(client: Client) -> None:
    """Nothing of what was typed is kept or shown."""
    answer = confirm(client, WRONG)
    page = answer.content.decode()
    assert answer.status_code == 422 and "This is not your passphrase." in page
    assert WRONG not in page and CONFIRMED_AT not in client.session
    assert actions() == ["session.passphrase_not_confirmed"]
    assert not any(WRONG in str(row) for row in AuditEvent.objects.values())


def test_nothing_typed_is_no_attempt(client: Client) -> None:
    """An empty field asks for the passphrase and counts for nothing."""
    answer = confirm(client, "")
    assert "Type the passphrase that you sign in with." in answer.content.decode()
    assert actions() == []


def test_guessing_ends_the_session(client: Client) -> None:
    """Whoever found an unlocked tablet does not guess for long."""
    for _ in range(MOST_ATTEMPTS - 1):
        assert confirm(client, WRONG).status_code == 422
    assert confirm(client, WRONG).url == "/sign-in/"
    assert "_auth_user_id" not in client.session
    assert len(actions()) == MOST_ATTEMPTS


@pytest.mark.parametrize(
    "after",
    [
        "https://invented.example/",
        "//invented.example/",
        "/\\invented.example",
        "http:///invented.example",
        "javascript:alert(1)",
        "measures/",
        "",
    ],
)
def test_nobody_is_sent_elsewhere(client: Client, after: str) -> None:
    """A forged way on leads to the person's own first page."""
    assert confirm(client, after=after).url == "/"


def test_an_expired_session_never_holds_a_passphrase(client: Client) -> None:
    """The page of an expired sign-in carries nothing of it, signed or not."""
    client.session.flush()
    for path, name in (("/confirm/", "passphrase"), ("/passphrase/", "old_password")):
        answer = client.post(path, {name: PASSPHRASE})
        page = answer.content.decode()
        assert answer.status_code == 401 and 'name="held"' not in page
        assert "What you entered is kept" not in page


@pytest.fixture
def asked(lead: User) -> Callable[..., HttpResponse]:
    """Send a request to a guarded view, with a session of our own."""
    done = HttpResponse("done")

    @requires_fresh
    def plain(request: HttpRequest) -> HttpResponse:
        return done

    @requires_fresh(back_to="people")
    def led_back(request: HttpRequest) -> HttpResponse:
        return done

    def ask(session: dict[str, Any], *, method: str = "get", to: str = "") -> Any:
        request: Any = getattr(RequestFactory(), method)("/given/")
        request.session, request.user = session, lead
        return (led_back if to else plain)(request)

    return ask


def test_a_view_asks_first_and_comes_back(asked: Callable[..., Any]) -> None:
    """Both a page and a form lead to the confirmation, and nothing is done."""
    assert asked({}).url == "/confirm/?next=%2Fgiven%2F"
    assert asked({}, method="post").url == "/confirm/?next=%2Fgiven%2F"
    assert asked({}, method="post", to="people").url == "/confirm/?next=%2Fpeople%2F"


def test_it_counts_for_fifteen_minutes(
    asked: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    """One second before the end it holds, at the end it does not."""
    now = timezone.now()
    session = {CONFIRMED_AT: now.timestamp()}

    def move_to(seconds: int) -> None:
        later = now + timedelta(seconds=seconds)
        monkeypatch.setattr(timezone, "now", lambda: later)

    for seconds, status in ((0, 200), (FRESH_MINUTES * 60 - 1, 200), (900, 302)):
        move_to(seconds)
        assert asked(session).status_code == status
    assert FRESH_MINUTES == 15  # bulk export: fresh within 15 min, project assumption


def test_a_moment_in_the_future_is_not_fresh(asked: Callable[..., Any]) -> None:
    """A clock that was set back does not stretch the time."""
    later = timezone.now().timestamp() + 3600
    assert asked({CONFIRMED_AT: later}).status_code == 302


def test_signing_in_alone_is_not_fresh(lead: User) -> None:
    """The passphrase is asked for the act itself."""
    client = Client()
    client.post("/sign-in/", {"username": lead.username, "password": PASSPHRASE})
    request: Any = RequestFactory().get("/")
    request.session = client.session
    assert not is_fresh(request)
