"""How the database is opened: nothing acknowledged is lost, writers wait in line."""

import pytest
from django.db import connection

SQLITE_ONLY = pytest.mark.skipif(
    connection.vendor != "sqlite", reason="of the embedded database"
)


def pragma(name: str) -> str:
    """Return a setting of the open connection."""
    with connection.cursor() as cursor:
        cursor.execute(f"PRAGMA {name}")
        return str(cursor.fetchone()[0])


@SQLITE_ONLY
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("journal_mode", "wal"),
        # 2 is FULL: each commit reaches the disk (SQLite's own documentation).
        ("synchronous", "2"),
        ("foreign_keys", "1"),
        ("busy_timeout", "20000"),
    ],
)
def test_the_embedded_database_is_opened_for_safety(name: str, value: str) -> None:
    """A fresh connection carries the settings, not only the file."""
    connection.close()
    assert pragma(name) == value


@SQLITE_ONLY
@pytest.mark.django_db(transaction=True)
def test_a_write_takes_its_turn_at_the_start() -> None:
    """Transactions begin at once as writers, so that none fails half-way."""
    assert connection.settings_dict["OPTIONS"]["transaction_mode"] == "IMMEDIATE"
    assert connection.transaction_mode == "IMMEDIATE"
