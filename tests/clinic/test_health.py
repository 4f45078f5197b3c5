"""Alive, ready, and an end that lets every request under way end first."""

import os
import threading
import time
from pathlib import Path

import pytest
import requests
from django.core.exceptions import ImproperlyConfigured
from django.db import InterfaceError, OperationalError, connection
from django.test import Client

from clinic import editions
from clinic.database_trouble import AWAY, BUSY, trouble_of
from clinic.environment import number
from clinic.replica import ReplicaRouter
from clinic.server_database import pooled, replica_of
from tests.cluster import serve


def test_health_asks_no_database(client: Client) -> None:
    """The process answers even while the database is away (no database is set up)."""
    client.cookies["session"] = "of-somebody-signed-in"
    answer = client.get("/health/")
    assert (answer.status_code, answer.content) == (200, b"ok\n")
    assert "no-store" in answer["Cache-Control"]


def test_ready_where_the_tables_are_those_of_this_version(
    client: Client, db: None
) -> None:
    """One word, and nothing about the installation."""
    answer = client.get("/ready/")
    assert (answer.status_code, answer.content) == (200, b"ready\n")


def test_not_ready_on_older_tables(
    client: Client, db: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The traffic waits until the migration has run."""
    newer = frozenset({"clinic.9999_not_yet"})
    monkeypatch.setattr(editions, "known", lambda: newer)
    answer = client.get("/ready/")
    assert (answer.status_code, answer.content) == (503, b"not ready\n")
    assert answer["Retry-After"] == "10"


def test_a_request_under_way_is_finished_on_sigterm(tmp_path: Path) -> None:
    """No new ones are taken, and the one under way gets its page."""
    kept = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
    settings = {"DJANGO_SETTINGS_MODULE": "clinic.settings"}
    environment = {**kept, **settings, "TROCHLEA_DATA": str(tmp_path)}
    web = serve(environment, app="tests.clinic.slow_app")
    answers: list[int] = []
    # An address that is not there needs no tables.
    asking = threading.Thread(
        target=lambda: answers.append(web.get("/no/such/page/").status_code)
    )
    asking.start()
    time.sleep(0.5)
    assert web.end() == 0
    asking.join(30)
    assert answers == [404]
    with pytest.raises(requests.ConnectionError):
        web.get("/health/")


def test_what_passes_by_itself_is_told_from_a_fault() -> None:
    """A lock or a lost server is waited for; a fault of ours is not."""
    is_server = connection.vendor != "sqlite"
    assert trouble_of(OperationalError("database is locked")) is BUSY
    lost = trouble_of(InterfaceError("the connection is closed"))
    assert lost is (AWAY if is_server else None)
    assert trouble_of(ValueError("ours")) is None
    assert trouble_of(None) is None


def test_a_broken_file_is_a_fault() -> None:
    """Of the embedded database: waiting does not mend it."""
    if connection.vendor == "sqlite":
        assert trouble_of(OperationalError("no such table: clinic_site")) is None


def test_the_pool_keeps_the_connections_and_what_the_address_says() -> None:
    """Limits go to the server in milliseconds; the address may add its own."""
    given = {"ENGINE": "x", "OPTIONS": {"sslmode": "require"}}
    limits = {"lock_timeout": 3}
    made = pooled(given, smallest=2, largest=5, limits=limits)
    assert made["CONN_MAX_AGE"] == 0
    assert made["OPTIONS"]["sslmode"] == "require"
    assert made["OPTIONS"]["options"] == "-c lock_timeout=3000"
    assert made["OPTIONS"]["pool"]["max_size"] == 5
    copy = replica_of(made, {"HOST": "elsewhere"})
    assert copy["OPTIONS"]["options"].endswith("default_transaction_read_only=on")
    assert "read_only" not in made["OPTIONS"]["options"]


@pytest.mark.parametrize("typed", ["", "-1", "two", "0", "1.5"])
def test_a_number_that_is_none_is_refused(
    typed: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A slip of the keyboard never takes a limit away."""
    monkeypatch.setenv("TROCHLEA_POOL_MAX", typed)
    with pytest.raises(ImproperlyConfigured, match="whole number, 1 or more"):
        number("TROCHLEA_POOL_MAX", least=1, default=8)


def test_tables_change_on_the_primary_alone() -> None:
    """The replica follows by itself."""
    router = ReplicaRouter()
    assert router.allow_migrate("default", "clinic")
    assert not router.allow_migrate("replica", "clinic")
