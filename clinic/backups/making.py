"""Makes a backup, and removes old ones by a rule."""

import json
import tarfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import datetime
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory
from types import ModuleType

import pyrage
from django.conf import settings
from pyrage import x25519

from ..installation import is_embedded
from . import embedded, served
from .file import ENDING, Summed, backups_in, write_backup
from .header import BackupError, Header, new_header
from .keys import public_halves

# Project assumptions: a fortnight of days to go back to, and two months of weeks.
DAYS_KEPT = 14
WEEKS_KEPT = 8


def engine() -> ModuleType:
    """Return how this installation's kind of database is copied and put in place."""
    return embedded if is_embedded() else served


def make_backup(folder: Path) -> tuple[Path, Header]:
    """Write one backup of the whole database into a folder and read it back.

    The unsealed copy lives for a moment in a folder that nobody else can open.
    """
    if not folder.is_dir():
        raise BackupError(f"There is no folder {folder}. Make it first.")
    keys = public_halves()
    with working_folder() as work, engine().snapshot(work) as (dump, rows, sums):
        header = new_header(rows)
        packed = pack(work, dump, header, sums)
        path = folder / f"trochlea-{header.moment:%Y%m%dT%H%M%SZ}{ENDING}"
        if path.exists():
            raise BackupError(f"{path} exists already: wait a second and try again.")
        write_backup(path, header, lambda out: _seal(packed, out, keys))
    return path, header


@contextmanager
def working_folder() -> Iterator[Path]:
    """Give a private folder beside the embedded database, else the system's own."""
    beside = Path(settings.DATA_DIR) if is_embedded() else None
    with TemporaryDirectory(prefix="backup-", dir=beside) as name:
        yield Path(name)


def pack(work: Path, dump: Path, header: Header, sums: dict[str, str]) -> Path:
    """Put the database and what it must come back as into one compressed file."""
    packed = work / "packed"
    inside = json.dumps({"header": header.line().decode("ascii"), "sums": sums})
    with tarfile.open(packed, "w:gz", compresslevel=6) as tar:
        about = tarfile.TarInfo("checksums.json")
        about.size = len(inside)
        tar.addfile(about, BytesIO(inside.encode("ascii")))
        tar.add(dump, "database")
    return packed


def _seal(packed: Path, out: Summed, keys: list[x25519.Recipient]) -> None:
    with packed.open("rb") as plain:
        pyrage.encrypt_io(plain, out, keys)


def remove_old(folder: Path, *, days: int) -> list[Path]:
    """Remove backups beyond the rule: the newest of each day, then of each week.

    Counted are the latest `days` days and WEEKS_KEPT weeks that hold a backup, so
    that a clinic whose backups stopped keeps what it has.
    """
    found = backups_in(folder)
    kept = to_keep([header.moment for _, header in found], days=days)
    removed = [path for path, header in found if header.moment not in kept]
    for path in removed:
        path.unlink()
    return removed


def to_keep(moments: Iterable[datetime], *, days: int) -> set[datetime]:
    """Return the moments that the rule keeps, on the clock of the backups."""
    by_day: dict[object, datetime] = {}
    by_week: dict[object, datetime] = {}
    for moment in sorted(moments, reverse=True):
        by_day.setdefault(moment.date(), moment)
        by_week.setdefault(moment.isocalendar()[:2], moment)
    return {*list(by_day.values())[:days], *list(by_week.values())[:WEEKS_KEPT]}
