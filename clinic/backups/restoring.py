"""Brings a backup back: into an empty place, checked before and after."""

import json
import tarfile
from pathlib import Path

import pyrage
from django.db import connection
from pyrage import x25519

from .file import Sealed, check_sum
from .header import (
    BackupError,
    Header,
    read_header,
    refuse_other_database,
    refuse_other_edition,
)
from .making import engine, working_folder
from .tables import tables


def checked(path: Path) -> Header:
    """Return the header of a backup that can come back here, or say why it cannot."""
    header = check_sum(path)
    refuse_other_database(header)
    refuse_other_edition(header)
    return header


def refuse_full_place() -> None:
    """Refuse a database that holds tables already."""
    if tables(connection):
        raise BackupError(
            "There is a database here already, and a restore never writes over one. "
            "Set TROCHLEA_DATA to an empty folder, or DATABASE_URL to an empty "
            "database."
        )


def restore_backup(path: Path, header: Header, secret: x25519.Identity) -> None:
    """Unseal a checked backup, unpack, compare and put in place; raises BackupError."""
    refuse_full_place()
    with working_folder() as work:
        dump, sums = unsealed(path, secret, work, header)
        engine().put_in_place(dump, header.rows, sums)


def unsealed(
    path: Path, secret: x25519.Identity, work: Path, header: Header
) -> tuple[Path, dict[str, str]]:
    """Return the unpacked database and the sums that it must have."""
    packed = work / "packed"
    with path.open("rb") as file, packed.open("wb") as plain:
        try:
            pyrage.decrypt_io(Sealed(path, file), plain, [secret])
        except pyrage.DecryptError as error:
            raise BackupError(
                f"{path} does not open with this key ({error}). Use the key that "
                "backup_key printed before it was made."
            ) from error
    with tarfile.open(packed, "r:gz") as tar:
        tar.extractall(work, filter="data")
    packed.unlink()
    inside = json.loads((work / "checksums.json").read_text(encoding="ascii"))
    if read_header(inside["header"].encode("ascii")) != header:
        raise BackupError(f"The first line of {path} was changed after it was made.")
    return work / "database", inside["sums"]
