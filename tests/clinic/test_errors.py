"""Error pages say what to do and give nothing away."""

from typing import Any

import pytest
from django.test import Client

from clinic.models import User


@pytest.fixture
def quiet(client: Client) -> Client:
    """A client that shows the error page rather than raising."""
    client.raise_request_exception = False
    return client


def test_a_failure_shows_a_reference_and_no_trace(
    quiet: Client, monkeypatch: pytest.MonkeyPatch, db: None
) -> None:
    """The page quotes the request's name, which the answer's header repeats."""

    def fail(*_: Any, **__: Any) -> None:
        raise RuntimeError("a secret detail")

    monkeypatch.setattr("clinic.views.people.set_up_code", fail)
    answer = quiet.get("/set-up/")
    page = answer.content.decode()
    assert answer.status_code == 500
    assert answer["X-Request-Id"] in page
    assert "secret detail" not in page
    assert "Traceback" not in page


@pytest.mark.parametrize("who", ["anonymous", "clinician"])
def test_an_unknown_address_is_not_found(
    who: str, client: Client, clinician: User
) -> None:
    """Signed in or not, the page is ours and says nothing about records."""
    if who == "clinician":
        client.force_login(clinician)
    answer = client.get("/no/such/page/")
    assert answer.status_code == 404
    assert "Trochlea" in answer.content.decode()


@pytest.mark.parametrize("address", ["/sign-in/", "/no/such/page/"])
def test_every_answer_carries_the_strict_policy(
    address: str, client: Client, db: None
) -> None:
    """No inline script, no frame, no sniffing, on errors too."""
    answer = client.get(address)
    policy = answer["Content-Security-Policy"]
    assert "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy
    assert "object-src 'none'" in policy
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Referrer-Policy"] == "same-origin"
