"""A full disk or a read-only file: a clear page, and nothing half saved."""

from collections.abc import Callable, Iterator
from datetime import date, timedelta

import pytest
from django.db import OperationalError, ProgrammingError, connection
from django.test import Client

from clinic.database_trouble import BUSY, FULL, READ_ONLY, trouble_of
from clinic.models import AuditEvent, Submission, User, Visit
from outcomes.models import Assessment, PainScore
from programs.models import SessionResponse
from tests.factories import make_screened_episode
from tests.outcomes.visit_pages import attended, log_url, with_akps

SQLITE_ONLY = pytest.mark.skipif(
    connection.vendor != "sqlite", reason="of the embedded database"
)
KEPT = (Visit, SessionResponse, PainScore, Assessment, Submission)


def pragma(words: str) -> int:
    """Set or read a number of the open connection."""
    with connection.cursor() as cursor:
        cursor.execute(f"PRAGMA {words}")
        row = cursor.fetchone()
        return int(row[0]) if row else 0


@pytest.fixture
def full() -> Iterator[Callable[[], None]]:
    """Let the file grow no more, from when it is called until the test ends."""
    most = pragma("max_page_count")
    with connection.cursor() as cursor:
        cursor.execute("VACUUM")  # no free page is left inside
    yield lambda: pragma(f"max_page_count={pragma('page_count')}") and None
    pragma(f"max_page_count={most}")


@pytest.fixture
def read_only() -> Iterator[Callable[[], None]]:
    """Refuse writing, from when it is called until the test ends."""
    yield lambda: pragma("query_only=1") and None
    pragma("query_only=0")


@SQLITE_ONLY
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize(("how", "trouble"), [("full", FULL), ("read_only", READ_ONLY)])
def test_what_cannot_be_kept_is_kept_not_at_all(
    how: str,
    trouble: object,
    request: pytest.FixtureRequest,
    clinician: User,
    today: date,
    clock: object,
) -> None:
    """The page says why; no part of the visit is there, and it can be sent again."""
    begin = request.getfixturevalue(how)
    case = make_screened_episode(by=clinician, opened_on=today - timedelta(weeks=3))
    client = Client(raise_request_exception=False)
    client.force_login(clinician)
    lines = AuditEvent.objects.count()
    sent = attended(today, pain_worst="6", note="long " * 900, **with_akps(74))
    begin()
    answer = client.post(log_url(case), sent)
    page = answer.content.decode()
    assert answer.status_code == 503
    assert trouble.title in page and "Nothing was saved" in page
    assert [model.objects.count() for model in KEPT] == [0] * len(KEPT)
    assert AuditEvent.objects.count() == lines
    pragma("query_only=0")
    pragma("max_page_count=1073741823")
    again = client.post(log_url(case), sent)
    assert again.status_code == 302, again.content.decode()
    assert Visit.objects.count() == 1


def test_each_trouble_is_told_by_its_own_words() -> None:
    """And what is none of them stays a failure with a reference."""
    assert trouble_of(OperationalError("database is locked")) is BUSY
    assert trouble_of(ProgrammingError("no such table: x")) is None
    assert trouble_of(ValueError("database or disk is full")) is None
