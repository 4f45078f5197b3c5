"""What the database can say about itself: damaged pages, broken links, triggers."""

from collections.abc import Iterator

from django.db import connection
from django.db.backends.utils import CursorWrapper

from clinic.models import AuditEvent

from .faults import Counted, Fault

RESTORE = "The file is damaged: stop the server, keep the file, and restore a backup."
CLEAN = "ok"


def database_itself(counted: Counted) -> Iterator[Fault]:
    """Yield what SQLite or PostgreSQL finds wrong in its own keeping."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            yield from _embedded(cursor)
        else:
            yield from _served(cursor)


def _embedded(cursor: CursorWrapper) -> Iterator[Fault]:
    """Run SQLite's own checks: pages, indexes, constraints, and every link."""
    cursor.execute("PRAGMA integrity_check")
    for (said,) in cursor.fetchall():
        if said != CLEAN:
            yield Fault("database", f"{said}.", RESTORE)
    cursor.execute("PRAGMA foreign_key_check")
    for table, row, parent, _ in cursor.fetchall():
        yield Fault(f"{table} {row}", f"points to no row of {parent}.", RESTORE)
    cursor.execute(
        "SELECT count(*) FROM sqlite_master WHERE type = 'trigger' AND tbl_name = %s",
        [AuditEvent._meta.db_table],
    )
    yield from _untriggered(cursor.fetchone()[0])


def _served(cursor: CursorWrapper) -> Iterator[Fault]:
    """Ask PostgreSQL for constraints that it does not hold all rows to."""
    cursor.execute(
        "SELECT conrelid::regclass::text, conname FROM pg_constraint "
        "WHERE NOT convalidated AND connamespace = current_schema()::regnamespace"
    )
    for table, name in cursor.fetchall():
        says = f"the constraint {name} was never checked on old rows."
        yield Fault(table, says, f"Run in psql: ALTER TABLE … VALIDATE {name}.")
    cursor.execute(
        "SELECT count(*) FROM pg_trigger WHERE NOT tgisinternal "
        "AND tgenabled <> 'D' AND tgrelid = %s::regclass",
        [AuditEvent._meta.db_table],
    )
    yield from _untriggered(cursor.fetchone()[0])


def _untriggered(found: int) -> Iterator[Fault]:
    if not found:
        says = "nothing in the database stops a change of the audit trail."
        do = "The triggers of clinic/migrations/0002 are gone: restore a backup."
        yield Fault(AuditEvent._meta.db_table, says, do)
