"""Makes the key pair of backups and prints the secret half once."""

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from ...backups.keys import kept_file, new_pair
from ...installation import is_embedded

WORDS = """\
Backup key, printed this once and kept nowhere here:

  {secret}

Without it no backup can be opened, by you or by anybody. Print it or write it down
twice; keep one copy in the clinic's safe and one in another building, never beside
the backups. Whoever has it and a backup can read every record.

Its public half, which only seals and may be seen:

  {public}
"""


class Command(BaseCommand):
    """The server keeps the half that seals; the clinic keeps the half that opens."""

    help = "Make the key pair of backups; the secret half is printed once."

    def add_arguments(self, parser: CommandParser) -> None:
        """Ask before an earlier key is set aside."""
        parser.add_argument(
            "--replace",
            action="store_true",
            help="make a new key; earlier backups still need the earlier one",
        )

    def handle(self, *, replace: bool, **options: Any) -> None:
        """Print the pair; the embedded installation keeps the public half itself."""
        kept = kept_file()
        if (settings.BACKUP_PUBLIC_KEYS or kept.exists()) and not replace:
            raise CommandError(
                "There is a backup key already. If its secret half is lost, make "
                "another with --replace, and a new backup with it at once."
            )
        secret, public = new_pair()
        self.stdout.write(WORDS.format(secret=secret, public=public))
        if is_embedded() and not settings.BACKUP_PUBLIC_KEYS:
            self._keep(kept, public)
        else:
            self.stdout.write(
                f"Set it for every process, in .env:\n  TROCHLEA_BACKUP_KEY={public}"
            )

    def _keep(self, kept: Path, public: str) -> None:
        kept.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        kept.write_text(f"{public}\n", encoding="ascii")
        self.stdout.write("The public half is kept in the data folder.")
