"""The first line of a backup, and whether this program can bring it back."""

import json
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from typing import Any

from django.db import connection

from ..editions import applied, known

FORMAT = 1  # rises when the file is laid out otherwise
KINDS = {"sqlite": "SQLite", "postgresql": "PostgreSQL"}


class BackupError(Exception):
    """Why a backup cannot be made, read or restored, and what to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """What stands readable before the sealed part; no name of a patient."""

    trochlea_backup: int
    made_at: str
    database: str
    migrations: tuple[str, ...]
    rows: dict[str, int]

    def line(self) -> bytes:
        """Return the header as the one line that the file begins with."""
        return json.dumps(asdict(self), ensure_ascii=True).encode("ascii") + b"\n"

    @property
    def moment(self) -> datetime:
        """Return when the backup was made."""
        return datetime.fromisoformat(self.made_at)


def new_header(rows: dict[str, int]) -> Header:
    """Describe a backup of this installation that is made now."""
    return Header(
        trochlea_backup=FORMAT,
        made_at=datetime.now(UTC).isoformat(timespec="seconds"),
        database=connection.vendor,
        migrations=tuple(sorted(applied())),
        rows=rows,
    )


def read_header(line: bytes) -> Header:
    """Read a first line; raises BackupError where it is none of ours."""
    try:
        found: dict[str, Any] = json.loads(line)
        header = Header(**{**found, "migrations": tuple(found["migrations"])})
        _ = header.moment
    except (ValueError, TypeError, KeyError) as error:
        raise BackupError("This is no backup of Trochlea.") from error
    if header.trochlea_backup != FORMAT:
        raise BackupError(
            f"This backup is laid out in the way {header.trochlea_backup}, and this "
            f"edition reads the way {FORMAT}. Restore it with the edition that made it."
        )
    return header


def refuse_other_edition(header: Header) -> None:
    """Refuse tables that are older or newer than the program, naming one change."""
    if newer := sorted(set(header.migrations) - known()):
        raise BackupError(
            f"This backup was made by a newer edition: its tables hold {newer[-1]}, "
            "which this edition does not know. Restore it with the edition that made "
            "it or a later one."
        )
    if older := sorted(known() - set(header.migrations)):
        raise BackupError(
            f"This backup was made by an older edition: its tables lack {older[-1]}. "
            "Restore it with the edition that made it, then bring in this edition and "
            "run: manage.py migrate"
        )


def refuse_other_database(header: Header) -> None:
    """Refuse a backup of the other kind of database."""
    if header.database != connection.vendor:
        theirs = KINDS.get(header.database, header.database)
        here = KINDS.get(connection.vendor, connection.vendor)
        how = "set" if header.database == "postgresql" else "unset"
        raise BackupError(
            f"This is a backup of {theirs}, and this installation runs on {here}: "
            f"{how} DATABASE_URL."
        )
