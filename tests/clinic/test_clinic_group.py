"""Several web processes on a server: shared, stopped, started, and its replica."""

import threading
import uuid
from collections.abc import Iterator
from typing import Any

import psycopg
import pytest
from django.db import connection

from tests.cluster import Cluster, Web, has_server, make_cluster, remove, serve, until

pytestmark = [
    pytest.mark.every_database,
    pytest.mark.skipif(
        connection.vendor != "postgresql" or not has_server(),
        reason="of a server's database, and of a machine that can start one",
    ),
]
COUNTS = {
    "saved": "SELECT count(*) FROM clinic_contactattempt WHERE note = %s",
    "keys": "SELECT count(*) FROM clinic_submission WHERE %s <> ''",
    "lines": "SELECT count(*) FROM clinic_auditevent WHERE action LIKE %s || '%%'",
}


@pytest.fixture(scope="module")
def cluster(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Cluster]:
    """A server of this module's own."""
    made = make_cluster(tmp_path_factory.mktemp("clinic"))
    yield made
    remove(made)


@pytest.fixture(scope="module")
def replica(cluster: Cluster) -> str:
    """The address of its streaming replica."""
    return cluster.copy()


def end_all(webs: list[Web]) -> None:
    """End several web processes, side by side."""
    for web in webs:
        web.close()
    for web in webs:
        web.process.wait(60)


@pytest.fixture
def served() -> Iterator[list[Web]]:
    """The web processes of a test, ended with it."""
    webs: list[Web] = []
    yield webs
    end_all(webs)


@pytest.fixture(scope="module")
def pair(cluster: Cluster) -> Iterator[list[Web]]:
    """Two web processes, the lead signed in at both by one session."""
    session = cluster.known["session"]
    webs = [serve(cluster.environment, session=session) for _ in range(2)]
    yield webs
    end_all(webs)


def count(cluster: Cluster, what: str, value: str = "x") -> int:
    """Count rows as a stranger to the app, over a connection of its own."""
    with psycopg.connect(cluster.environment["DATABASE_URL"]) as own:
        row = own.execute(COUNTS[what], [value]).fetchone()
    assert row
    return int(row[0])


def contact(cluster: Cluster, note: str, key: str) -> tuple[str, dict[str, str]]:
    """Return where a contact attempt is sent, and what is sent."""
    path = f"/cases/{cluster.known['case']}/contacts/new/"
    sent = {"tried_on": "2026-02-02", "way": "call", "result": "no answer"}
    return path, {**sent, "note": note, "form_key": key}


def test_two_processes_share_everything(cluster: Cluster, pair: list[Web]) -> None:
    """One saves, the other sees; the same form sent to both is saved once."""
    one, other = pair
    path, sent = contact(cluster, "Invented call", str(uuid.uuid4()))
    for web in (one, other):
        assert web.get(path).status_code == 200
    answers: list[int] = []

    def send(web: Web) -> None:
        answers.append(web.post(path, **sent).status_code)

    both = [threading.Thread(target=send, args=[web]) for web in (one, other)]
    for thread in both:
        thread.start()
    for thread in both:
        thread.join()
    assert answers == [302, 302]
    assert count(cluster, "saved", "Invented call") == 1
    assert "Invented call" in one.get(path).text
    assert "Invented call" in other.get(path).text


def test_a_restart_in_mid_request_is_a_clear_page_and_no_half_save(
    cluster: Cluster, pair: list[Web]
) -> None:
    """The save waits for a lock when the server goes; sent again, it is stored once."""
    web = pair[0]
    path, sent = contact(cluster, "Interrupted call", str(uuid.uuid4()))
    assert web.get(path).status_code == 200
    before = count(cluster, "keys"), count(cluster, "lines", "contact")
    answers: list[Any] = []
    lock = psycopg.connect(cluster.environment["DATABASE_URL"])
    lock.execute("LOCK TABLE clinic_contactattempt IN EXCLUSIVE MODE")
    sending = threading.Thread(target=lambda: answers.append(web.post(path, **sent)))
    sending.start()
    until(lambda: is_waiting(cluster))
    cluster.stop()
    try:
        sending.join(30)
        lock.close()
        says_it_is_away(answers[0])
        # While it is away: each page says so, the process is alive and not ready.
        says_it_is_away(web.get(path))
        assert web.get("/health/").status_code == 200
        assert web.get("/ready/").status_code == 503
    finally:
        cluster.start()
    until(lambda: web.get("/ready/").status_code == 200)
    assert (count(cluster, "keys"), count(cluster, "lines", "contact")) == before
    for _ in range(2):
        assert web.post(path, **sent).status_code == 302
    assert count(cluster, "saved", "Interrupted call") == 1


def is_waiting(cluster: Cluster) -> bool:
    """Tell whether somebody waits for the lock."""
    with psycopg.connect(cluster.environment["DATABASE_URL"]) as own:
        waiting = own.execute("SELECT count(*) FROM pg_locks WHERE NOT granted")
        row = waiting.fetchone()
    return bool(row and row[0])


def says_it_is_away(answer: Any) -> None:
    """Hold the page of a database that is away to what it has to say."""
    assert answer.status_code == 503
    assert answer.headers["Retry-After"] == "10"
    assert answer.headers["Cache-Control"] == "no-store"
    assert "cannot be reached for a moment" in answer.text
    assert answer.headers["X-Request-Id"] in answer.text
    assert "frame-ancestors 'none'" in answer.headers["Content-Security-Policy"]


def test_time_limits_hold_on_every_connection(cluster: Cluster) -> None:
    """Those of the settings, as the server itself tells them."""
    ask = (
        "import django; django.setup(); from django.db import connection as c\n"
        "with c.cursor() as k:\n"
        " for n in ('statement_timeout', 'lock_timeout',"
        " 'idle_in_transaction_session_timeout'):\n"
        "  k.execute('SHOW ' + n); print(k.fetchone()[0])\n"
        "print(c.pool.max_size); c.close_pool()"
    )
    limits = {"TROCHLEA_LOCK_SECONDS": "7", "TROCHLEA_POOL_MAX": "3"}
    assert cluster.run("-c", ask, **limits).split() == ["30s", "7s", "5min", "3"]


READING = """
import django; django.setup()
from django.db import connections
from clinic.models import AuditEvent, Episode, User
from clinic.replica import LAG, measured_lag, reading_from_replica
def where():
    names = [m.objects.all().db for m in (Episode, User, AuditEvent)]
    assert Episode.objects.count() == 1
    return names
def fails_there():
    if Episode.objects.all().db == "replica":
        with connections["replica"].cursor() as k:
            k.execute("SELECT pg_terminate_backend(pg_backend_pid())")
    return where()
def writes():
    e = Episode.objects.get()
    e.save()
    return [e._state.db, Episode.objects.all().db]
print(measured_lag())
print(reading_from_replica(where), reading_from_replica(writes))
print(reading_from_replica(fails_there), reading_from_replica(where))
for c in connections.all(): c.close_pool()
"""
THERE = "['replica', 'default', 'default']"
HOME = "['default', 'default', 'default']"


def test_review_pages_read_from_the_replica_and_nothing_else_does(
    cluster: Cluster, replica: str
) -> None:
    """Who and what is on record is asked at home; a write turns the rest home."""
    _, first, second = reads(cluster, replica)
    assert first == f"{THERE} ['default', 'default']"
    # It broke half-way: the same page came from home, and so did the next.
    assert second == f"{HOME} {HOME}"


def reads(cluster: Cluster, replica: str, **more: str) -> list[str]:
    """Return how far the replica is behind, and where things were read."""
    more["DATABASE_REPLICA_URL"] = replica
    return cluster.run("-c", READING, **more).splitlines()


def test_a_replica_that_lags_is_left_alone(cluster: Cluster, replica: str) -> None:
    """It has stopped replaying, and something was written since."""
    with psycopg.connect(replica, autocommit=True) as copy:
        copy.execute("SELECT pg_wal_replay_pause()")
        with psycopg.connect(cluster.environment["DATABASE_URL"]) as own:
            own.execute("UPDATE clinic_site SET name = name")
        lag, first, _ = reads(cluster, replica, TROCHLEA_REPLICA_LAG_SECONDS="0")
        copy.execute("SELECT pg_wal_replay_resume()")
    assert float(lag) > 0
    assert first.startswith(HOME)


def test_the_review_page_asks_the_replica_and_stands_without_it(
    cluster: Cluster, replica: str, served: list[Web]
) -> None:
    """The replica itself tells what was read there; then it is stopped."""
    web = serve(
        {**cluster.environment, "DATABASE_REPLICA_URL": replica},
        session=cluster.known["session"],
    )
    served.append(web)
    asked = "SELECT count(*) FROM pg_stat_activity WHERE query LIKE %s"

    def is_asked() -> bool:
        assert web.get("/trends/").status_code == 200
        with psycopg.connect(replica) as copy:
            row = copy.execute(asked, ['SELECT%FROM "outcomes_%']).fetchone()
        return bool(row and row[0])

    until(is_asked, seconds=30)
    cluster.stop("copy")
    assert web.get("/trends/").status_code == 200
