"""Brings a backup back into an empty place, and checks what came."""

import sys
from getpass import getpass
from pathlib import Path
from typing import Any

from django.core.management import call_command, get_commands
from django.core.management.base import BaseCommand, CommandError, CommandParser
from pyrage import x25519

from ...backups.header import BackupError
from ...backups.keys import secret_half
from ...backups.restoring import checked, refuse_full_place, restore_backup

CHECKS = ("verify_data", "verify_audit")


class Command(BaseCommand):
    """Never writes over a database; says why a file cannot come back."""

    help = (
        "Bring a backup back into an empty place (TROCHLEA_DATA or DATABASE_URL), "
        "compare every table, and run the checks of what is stored."
    )
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the file and where the clinic's key is."""
        parser.add_argument("file", type=Path, help="the backup")
        parser.add_argument(
            "--key-file",
            type=Path,
            help="a file with the backup key; without it the key is asked for",
        )

    def handle(self, *, file: Path, key_file: Path | None, **options: Any) -> None:
        """Refuse first, then ask for the key, restore, and check."""
        try:
            header = checked(file)
            refuse_full_place()
            restore_backup(file, header, self._key(key_file))
        except BackupError as error:
            raise CommandError(f"Nothing was restored. {error}") from error
        self.stdout.write(
            f"Restored {sum(header.rows.values())} rows of {len(header.rows)} tables "
            f"as of {header.moment:%d %B %Y %H:%M} UTC; every table is as it was "
            "backed up. What was entered after that moment is not in it."
        )
        self._check()

    def _key(self, key_file: Path | None) -> x25519.Identity:
        """Read the key from a file, from the keyboard without echo, or from input."""
        if key_file:
            try:
                return secret_half(key_file.read_text(encoding="ascii"))
            except OSError as error:
                raise BackupError(f"{key_file} cannot be read.") from error
        is_asked = sys.stdin.isatty()
        return secret_half(getpass("Backup key: ") if is_asked else sys.stdin.read())

    def _check(self) -> None:
        """Run the checks that this edition has; a fault was there before the backup."""
        has_faults = False
        for name in CHECKS:
            if name in get_commands():
                try:
                    call_command(name, stdout=self.stdout)
                except (SystemExit, CommandError) as ended:
                    self.stdout.write(f"{name}: {ended}")
                    has_faults = True
        if has_faults:
            raise CommandError(
                "The restored records stand as they were backed up, with the faults "
                "named above."
            )
