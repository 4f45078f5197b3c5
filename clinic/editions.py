"""Which changes of the tables this edition comes with, and which were made here."""

from functools import cache

from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder


def applied() -> set[str]:
    """Return the migrations that the database went through, as app.name."""
    done = MigrationRecorder(connection).applied_migrations()
    return {f"{app}.{name}" for app, name in done}


@cache
def known() -> frozenset[str]:
    """Return the migrations that this edition of the program comes with."""
    loader = MigrationLoader(None)
    return frozenset(f"{app}.{name}" for app, name in loader.disk_migrations)


def is_up_to_date() -> bool:
    """Whether every migration of this edition has been applied."""
    return known() <= applied()
