"""Browser tests: the system's Chromium, a tablet held upright, a quiet console."""

import os
import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.test import Client
from playwright.sync_api import BrowserContext, Page, expect

from clinic.models import User
from tests.conftest import NO_CHROMIUM

# Playwright's synchronous interface keeps an event loop in this thread until the
# end of the run, and Django would refuse the database beside it.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"

expect.set_options(timeout=20_000)

HERE = Path(__file__).parent
TABLET = {
    "viewport": {"width": 820, "height": 1180},
    "device_scale_factor": 2,
    "has_touch": True,
    "is_mobile": True,
    "locale": "en-AU",
    "timezone_id": "Australia/Sydney",
    # A colour half way through its change has no contrast of its own to measure.
    "reduced_motion": "reduce",
}
LAPTOP = {
    "viewport": {"width": 1440, "height": 900},
    "device_scale_factor": 1,
    "has_touch": False,
    "is_mobile": False,
}
QUIET = [
    "--no-sandbox",  # as root, which continuous integration is
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
]

# Instead of the printer: a mark that a locator can wait for. A waiting function would
# be an eval, which the pages' own policy refuses.
MARKS_PRINTING = "window.print = () => document.documentElement.dataset.printed = 1;"


def find_chromium() -> str | None:
    """Return the path of the browser: CHROMIUM, else one on the PATH."""
    if chosen := os.environ.get("CHROMIUM"):
        return shutil.which(chosen)
    return shutil.which("chromium") or shutil.which("chromium-browser")


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark every test of this folder."""
    for item in items:
        if HERE in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup() -> None:
    """Skip where there is no browser; in continuous integration, fail."""
    if find_chromium():
        return
    if os.environ.get("CI") == "true":
        pytest.fail(f"{NO_CHROMIUM}, and CI is true", pytrace=False)
    pytest.skip(NO_CHROMIUM)


@pytest.fixture(scope="session")
def browser_type_launch_args(
    browser_type_launch_args: dict[str, Any],
) -> dict[str, Any]:
    """Start the system's Chromium, without its calls home."""
    return {
        **browser_type_launch_args,
        "executable_path": find_chromium(),
        "args": QUIET,
    }


@pytest.fixture
def new_context(
    new_context: Callable[..., BrowserContext], request: pytest.FixtureRequest
) -> Iterator[Callable[..., BrowserContext]]:
    """Open browser windows as a tablet, and fail the test on console errors.

    An error that the test provokes is declared with
    `@pytest.mark.expected_console("part of the message", ...)`.
    """
    complaints: list[str] = []

    def open_context(**changes: Any) -> BrowserContext:
        context = new_context(**{**TABLET, **changes})
        context.set_default_timeout(10_000)
        # A page may load the numeric libraries first; speed is the bench's matter.
        context.set_default_navigation_timeout(60_000)
        context.on(
            "console",
            lambda message: (
                complaints.append(f"{message.text} ({message.location.get('url')})")
                if message.type == "error"
                else None
            ),
        )
        context.on("weberror", lambda error: complaints.append(str(error.error)))
        return context

    yield open_context
    marks = request.node.iter_markers("expected_console")
    expected = [pattern for mark in marks for pattern in mark.args]
    unexpected = [
        line
        for line in complaints
        if not any(re.search(pattern, line) for pattern in expected)
    ]
    assert not unexpected, "The browser's console holds errors:\n" + "\n".join(
        unexpected
    )


@pytest.fixture
def laptop_page(new_context: Callable[..., BrowserContext]) -> Page:
    """A page on a laptop, with a mouse."""
    return new_context(**LAPTOP).new_page()


@pytest.fixture
def no_js_page(new_context: Callable[..., BrowserContext]) -> Page:
    """A page on the tablet with JavaScript off."""
    return new_context(java_script_enabled=False).new_page()


@pytest.fixture
def open_as(live_server: Any) -> Callable[[Page, User, str], Page]:
    """Sign a person in and go to an address of the live server.

    The session is made on the server, so only sign-in tests pay for the form.
    """

    def go(page: Page, user: User, path: str) -> Page:
        client = Client()
        client.force_login(user)
        name = settings.SESSION_COOKIE_NAME
        cookie = {
            "name": name,
            "value": client.cookies[name].value,
            "url": live_server.url,
        }
        page.context.add_cookies([cookie])
        page.goto(live_server.url + path)
        return page

    return go


@pytest.fixture
def screenshot() -> Callable[[Page, str], None]:
    """Keep a picture of the whole page in the folder $SHOTS, when that is set."""

    def keep(page: Page, name: str) -> None:
        if folder := os.environ.get("SHOTS"):
            path = Path(folder) / f"{name}.png"
            page.screenshot(path=path, full_page=True)

    return keep
