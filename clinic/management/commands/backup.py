"""Writes an encrypted backup of the whole database, while it is in use."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from ...backups.header import BackupError
from ...backups.making import DAYS_KEPT, WEEKS_KEPT, make_backup, remove_old
from ...installation import has_tables


class Command(BaseCommand):
    """One file, readable by whoever holds the clinic's backup key and nobody else."""

    help = (
        "Write an encrypted backup of the whole database into a folder, read it back, "
        "and remove old ones. Make the key first with: manage.py backup_key"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the folder and how many days to keep."""
        parser.add_argument("folder", type=Path, help="where backups are kept")
        parser.add_argument(
            "--keep",
            type=int,
            default=DAYS_KEPT,
            metavar="DAYS",
            help="keep the newest backup of each of this many days, and of each of "
            f"{WEEKS_KEPT} weeks; the rest of the folder's backups is removed "
            f"(default: {DAYS_KEPT})",
        )

    def handle(self, *, folder: Path, keep: int, **options: Any) -> None:
        """Back up, then rotate; nothing old goes before the new one stands."""
        if keep < 1:
            raise CommandError("--keep takes 1 day or more.")
        if not has_tables():
            raise CommandError("There is no database here yet to back up.")
        try:
            path, header = make_backup(folder)
        except BackupError as error:
            raise CommandError(f"No backup was made. {error}") from error
        removed = remove_old(folder, days=keep)
        self.stdout.write(
            f"Backed up {sum(header.rows.values())} rows of {len(header.rows)} tables "
            f"to {path} and read it back. Old backups removed: {len(removed)}."
        )
