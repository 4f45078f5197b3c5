"""The cast, the clock and the database that every test shares.

The cast is always the same: `clinician` works at `site` and owns the cases;
`colleague` works there too; `lead` leads it; `administrator` has no clinical
pages; `stranger` works at `other_site` and must never see anything of it.
"""

import os
import re
from collections.abc import Callable, Iterator
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

import psycopg
import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from hypothesis import settings

from clinic.access import Role
from clinic.models import Site, User
from tests.factories import make_site, make_user

NO_CHROMIUM = "no Chromium found"

# Speed lives in the bench: no property fails because the machine is busy.
settings.register_profile("unhurried", settings(), deadline=None)
settings.load_profile("unhurried")


# The run


def pytest_sessionstart(session: pytest.Session) -> None:
    """Stop at once, with a sentence, when DATABASE_URL leads nowhere."""
    url = os.environ.get("DATABASE_URL", "")
    if not url.startswith("postgres") or hasattr(session.config, "workerinput"):
        return
    try:
        psycopg.connect(url, connect_timeout=5).close()
    except psycopg.OperationalError as error:
        pytest.exit(f"DATABASE_URL is set, but nothing answers there: {error}", 3)


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add the option of the second run, on the other database."""
    parser.addoption(
        "--of-the-database",
        action="store_true",
        help="leave out what needs no database, and most of what needs a browser",
    )


def is_of_the_database(item: pytest.Item) -> bool:
    """Say whether another database could change what comes of the test."""
    if item.get_closest_marker("browser"):
        return item.get_closest_marker("every_database") is not None
    fixtures = getattr(item, "fixturenames", ())
    return bool(
        item.get_closest_marker("django_db")
        or item.get_closest_marker("every_database")
        or {"db", "transactional_db"}.intersection(fixtures)
    )


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(
    config: pytest.Config, items: list[pytest.Item]
) -> None:
    """Mark what the guide's table of requirements names; keep what was asked for."""
    guide = (Path(__file__).parent.parent / "DEVELOPERS.md").read_text("utf-8")
    table = guide.partition("<!-- security -->")[2].partition("<!-- /security -->")[0]
    named = set(re.findall(r"`(test_\w+)`", table))
    for item in items:
        if getattr(item, "originalname", item.name) in named:
            item.add_marker(pytest.mark.security)
    if config.getoption("--of-the-database"):
        left_out = [item for item in items if not is_of_the_database(item)]
        items[:] = [item for item in items if is_of_the_database(item)]
        config.hook.pytest_deselected(items=left_out)


def pytest_report_header() -> str:
    """Name the database of this run."""
    return f"database: {connection.vendor}"


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_terminal_summary(terminalreporter: Any) -> Iterator[None]:
    """Say loudly, as the last thing, how many browser tests did not run."""
    yield
    skipped = terminalreporter.stats.get("skipped", [])
    if count := sum(NO_CHROMIUM in str(report.longrepr) for report in skipped):
        terminalreporter.write_sep(
            "!",
            f"{count} BROWSER TESTS DID NOT RUN: {NO_CHROMIUM} "
            "(install chromium, or set CHROMIUM to its path)",
            red=True,
            bold=True,
        )


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None) -> Iterator[None]:
    """Let the emptying of tables after a live-server test pass the triggers.

    The audit trail refuses deletion by a trigger, and SQLite empties a table by
    deleting its rows; PostgreSQL truncates, which row triggers do not see.
    """
    if connection.vendor != "sqlite":
        yield
        return
    operations = type(connection.ops)
    plain_flush = operations.sql_flush

    def flush_around_triggers(self: Any, *args: Any, **kwargs: Any) -> list[str]:
        with self.connection.cursor() as cursor:
            cursor.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
            triggers = cursor.fetchall()
        dropped = [f"DROP TRIGGER {self.quote_name(name)}" for name, _ in triggers]
        restored = [sql for _, sql in triggers]
        return [*dropped, *plain_flush(self, *args, **kwargs), *restored]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(operations, "sql_flush", flush_around_triggers)
        yield


# The clock


@pytest.fixture
def today() -> date:
    """A fixed Monday; tests count from here, not from the calendar on the wall."""
    return date(2026, 6, 1)


@pytest.fixture
def clock(today: date, monkeypatch: pytest.MonkeyPatch) -> Callable[[date], None]:
    """Hold the app's clock at ten in the morning of `today`; call it to move on."""

    def move_to(day: date) -> None:
        morning = datetime.combine(day, time(10), timezone.get_default_timezone())
        monkeypatch.setattr(timezone, "now", lambda: morning)

    move_to(today)
    return move_to


# The cast


@pytest.fixture
def site(db: None) -> Site:
    """The site of the cast."""
    return make_site("Invented Knee Clinic")


@pytest.fixture
def other_site(db: None) -> Site:
    """A second site of the same installation."""
    return make_site("Invented Hill Clinic")


@pytest.fixture
def clinician(site: Site) -> User:
    """Owns the cases."""
    return make_user(site=site, username="c.avermore")


@pytest.fixture
def colleague(site: Site) -> User:
    """Works at the same site, with other cases."""
    return make_user(site=site, username="d.brellow")


@pytest.fixture
def lead(site: Site) -> User:
    """Leads the site."""
    return make_user(site=site, username="e.corran", role=Role.LEAD)


@pytest.fixture
def administrator(site: Site) -> User:
    """Manages the people of the site and sees no case."""
    return make_user(site=site, username="f.dunmire", role=Role.ADMINISTRATOR)


@pytest.fixture
def stranger(other_site: Site) -> User:
    """A clinician of the other site."""
    return make_user(site=other_site, username="g.estwick")


@pytest.fixture
def signed_in() -> Callable[[User], Client]:
    """Return a test client in which the given person is signed in."""

    def sign_in(user: User, **defaults: Any) -> Client:
        client = Client(**defaults)
        client.force_login(user)
        return client

    return sign_in


@pytest.fixture
def query_count() -> Callable[[Client, str], int]:
    """Count the queries of one page; compare two counts, not one with a number.

    The first look of some minutes is put on record; the one counted is not the first.
    """

    def count(client: Client, path: str) -> int:
        client.get(path)
        with CaptureQueriesContext(connection) as queries:
            assert client.get(path).status_code == 200
        return len(queries)

    return count
