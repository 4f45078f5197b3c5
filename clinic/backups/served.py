"""PostgreSQL: its own dump and restore programs, held to one snapshot."""

import os
import re
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.db import connection, transaction

from .header import BackupError
from .tables import refuse_other_content, rows_of, sums_of

# The snapshot waits while the dump is written, longer than a page may.
PATIENT = (
    "SET LOCAL statement_timeout = 0",
    "SET LOCAL lock_timeout = 0",
    "SET LOCAL idle_in_transaction_session_timeout = 0",
)


@contextmanager
def snapshot(folder: Path) -> Iterator[tuple[Path, dict[str, int], dict[str, str]]]:
    """Give a dump as of one moment with the rows and sums of that same moment."""
    program = client_program("pg_dump")
    dump = folder / "database"
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        for words in PATIENT:
            cursor.execute(words)
        cursor.execute("SELECT pg_export_snapshot()")
        (moment,) = cursor.fetchone()
        # It is compressed with the rest, once.
        how = ["--format=custom", "--compress=0", "--no-owner", "--no-privileges"]
        _run(program, *how, f"--snapshot={moment}", f"--file={dump}")
        yield dump, rows_of(connection), sums_of(connection)


def put_in_place(dump: Path, rows: dict[str, int], sums: dict[str, str]) -> None:
    """Bring a dump into the empty database in one transaction, then compare."""
    program = client_program("pg_restore")
    how = ["--exit-on-error", "--single-transaction", "--no-owner", "--no-privileges"]
    _run(program, *how, str(dump))
    refuse_other_content(connection, rows, sums)


def client_program(name: str) -> str:
    """Return the path of a client program that is as new as the server."""
    path = shutil.which(name)
    needed = connection.pg_version // 10_000  # type: ignore[attr-defined]
    if path is None:
        raise BackupError(
            f"{name} is not installed here: a backup of PostgreSQL is made by its own "
            f"client programs. Install them (postgresql-client-{needed} on Debian)."
        )
    said = subprocess.run([path, "--version"], capture_output=True, text=True)  # noqa: S603
    found = re.search(r"(\d+)", said.stdout)
    if found and int(found[1]) < needed:
        raise BackupError(
            f"{name} is of PostgreSQL {found[1]} and the server of {needed}: an older "
            f"program cannot read it. Install postgresql-client-{needed}."
        )
    return path


def _run(program: str, *words: str) -> None:
    """Run a client program on the installation's database; no password in its words."""
    psql, extra = connection.client.settings_to_cmd_args_env(
        connection.settings_dict, []
    )
    *where, name = psql[1:]
    run = subprocess.run(  # noqa: S603
        [program, *where, f"--dbname={name}", "--no-password", *words],
        env={**os.environ, **(extra or {})},
        capture_output=True,
        text=True,
    )
    if run.returncode:
        why = (run.stderr.strip().splitlines() or ["no reason given"])[-1]
        raise BackupError(f"{Path(program).name} stopped: {why}")
