"""SQLite: a copy made by the database itself while others write, and put in place."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.db import DEFAULT_DB_ALIAS, OperationalError, connection, connections
from django.db.backends.base.base import BaseDatabaseWrapper

from .header import BackupError
from .tables import refuse_other_content, rows_of, sums_of

COMPANIONS = ("-wal", "-shm", "-journal")


@contextmanager
def snapshot(folder: Path) -> Iterator[tuple[Path, dict[str, int], dict[str, str]]]:
    """Give a copy as of one moment with the rows and sums of its tables.

    VACUUM INTO copies in one read transaction; what others commit meanwhile is in
    the next backup.
    """
    copy = folder / "database"
    try:
        with connection.cursor() as cursor:
            cursor.execute("VACUUM INTO %s", [str(copy)])
    except OperationalError as error:
        raise BackupError(f"The database could not be copied: {error}.") from error
    with opened(copy) as db:
        yield copy, rows_of(db), sums_of(db)


@contextmanager
def opened(path: Path) -> Iterator[BaseDatabaseWrapper]:
    """Open a copy beside the installation's own database."""
    own = {**connection.settings_dict, "NAME": str(path), "OPTIONS": {}}
    db = type(connections[DEFAULT_DB_ALIAS])(own, DEFAULT_DB_ALIAS)
    try:
        yield db
    finally:
        db.close()


def put_in_place(dump: Path, rows: dict[str, int], sums: dict[str, str]) -> None:
    """Compare the unpacked database, then let it become the installation's own."""
    with opened(dump) as db:
        refuse_other_content(db, rows, sums)
    with dump.open("rb+") as file:
        os.fsync(file.fileno())
    place = Path(connection.settings_dict["NAME"])
    connection.close()
    for ending in COMPANIONS:
        Path(f"{place}{ending}").unlink(missing_ok=True)
    dump.chmod(0o600)
    dump.replace(place)
