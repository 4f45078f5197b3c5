"""Signing in, in a real browser: the second step, and the warning before a time-out."""

from base64 import b32decode
from collections.abc import Callable
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django_otp.oath import totp
from django_otp.plugins.otp_totp.models import TOTPDevice
from playwright.sync_api import Page, expect

from clinic.models import OpenSession, User
from tests.factories import PASSPHRASE

pytestmark = [pytest.mark.django_db(transaction=True)]
Open = Callable[[Page, User, str], Page]
Keep = Callable[[Page, str], None]
WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


def violations(page: Page) -> list[str]:
    """Return what axe finds against WCAG 2.2 AA."""
    found = Axe().run(page, options={"runOnly": {"type": "tag", "values": WCAG}})
    return [f"{v['id']}: {v['nodes'][0]['html']}" for v in found.response["violations"]]


def sign_in(page: Page, url: str, person: User) -> None:
    """Fill in the sign-in form."""
    page.goto(f"{url}/sign-in/")
    page.get_by_label("User name").fill(person.username)
    page.get_by_label("Passphrase").fill(PASSPHRASE)
    page.get_by_role("button", name="Sign in").click()


def test_the_second_step_is_set_up_and_asked_for(
    page: Page, live_server: Any, clinician: User, screenshot: Keep
) -> None:
    """From the picture to the recovery codes, and in again with a code."""
    sign_in(page, live_server.url, clinician)
    page.goto(f"{live_server.url}/account/")
    screenshot(page, "account")
    assert violations(page) == []
    page.get_by_role("link", name="Set up the second step").click()
    shown = page.locator("img.scan").evaluate("img => img.naturalWidth")
    assert shown > 0, "the policy for pictures holds the code back"
    assert violations(page) == []
    page.get_by_text("It cannot scan?").click()
    screenshot(page, "second_step")
    typed = (page.locator(".scan-text").text_content() or "").replace(" ", "")
    page.get_by_label("Code").fill(f"{totp(b32decode(typed)):06}")
    page.get_by_role("button", name="Set it up").click()
    expect(page.locator(".codes li")).to_have_count(10)
    screenshot(page, "recovery_codes")
    assert violations(page) == []
    page.get_by_role("button", name="I have kept them").click()
    page.get_by_role("button", name="Sign out").click()
    sign_in(page, live_server.url, clinician)
    screenshot(page, "enter_code")
    assert violations(page) == []
    # The next step of thirty seconds: the code that set it up opens nothing more.
    app = TOTPDevice.objects.get()
    page.get_by_label("Code").fill(f"{totp(app.bin_key, drift=1):06}")
    page.get_by_role("button", name="Sign in").click()
    expect(page).to_have_url(f"{live_server.url}/")


@pytest.mark.expected_console("401|422")
def test_the_warning_keeps_what_was_typed(
    page: Page,
    live_server: Any,
    clinician: User,
    open_as: Open,
    screenshot: Keep,
    settings: Any,
) -> None:
    """Warned, covered, the passphrase typed in place, and the form saved as it was."""
    settings.SESSION_COOKIE_AGE, settings.SESSION_WARN_SECONDS = 14, 10
    open_as(page, clinician, "/patients/new/")
    page.locator("input[type=text]").first.fill("Inventedtyping")
    expect(page.get_by_role("button", name="Stay signed in")).to_be_visible()
    screenshot(page, "timeout_warning")
    assert violations(page) == []
    page.get_by_role("button", name="Stay signed in").click()
    expect(page.get_by_role("dialog")).to_be_hidden()
    over = page.get_by_role("heading", name="Type your passphrase to go on")
    expect(over).to_be_visible(timeout=20_000)
    OpenSession.objects.update(ended_at="2026-01-01T00:00Z")
    expect(page.locator("main")).to_be_hidden()
    screenshot(page, "timeout_over")
    dialog = page.get_by_role("dialog")
    dialog.get_by_label("Your passphrase").fill("not the passphrase")
    dialog.get_by_role("button", name="Sign in and go on").click()
    expect(dialog.get_by_text("not your passphrase")).to_be_visible()
    settings.SESSION_COOKIE_AGE = 900
    dialog.get_by_label("Your passphrase").fill(PASSPHRASE)
    dialog.get_by_role("button", name="Sign in and go on").click()
    expect(dialog).to_be_hidden()
    assert page.locator("input[type=text]").first.input_value() == "Inventedtyping"
    # The forms of the page carry the new token: what is sent is judged, not refused.
    with page.expect_response(lambda answer: answer.request.method == "POST") as sent:
        page.locator("main form button.btn-primary").last.click()
    assert sent.value.status == 422


def test_a_device_is_handed_over(
    page: Page, live_server: Any, clinician: User, colleague: User, screenshot: Keep
) -> None:
    """One tap on the name; their sign-in stands ready, and Back shows nothing."""
    sign_in(page, live_server.url, clinician)
    page.get_by_role("link", name="Switch person").click()
    screenshot(page, "switch")
    assert violations(page) == []
    page.get_by_role("button", name="brellow").click()
    expect(page.get_by_label("User name")).to_have_value(colleague.username)
    page.go_back()
    expect(page.get_by_label("Passphrase")).to_be_visible()
