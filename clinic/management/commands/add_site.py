"""Adds a site from the command line."""

from typing import Any

from django.core.exceptions import ValidationError
from django.core.management import (
    BaseCommand,
    CommandError,
    CommandParser,
    call_command,
)

from ...installation import has_tables, is_embedded, make_data_folder
from ...invitations import add_site
from ...models import Site


class Command(BaseCommand):
    """Add a clinic; its people come next, with add_person."""

    help = "Adds a site (a clinic). Then add its people with: manage.py add_person"
    # The tables may not be there yet.
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the name."""
        parser.add_argument("name", help="the name of the clinic, in quotation marks")

    def handle(self, *, name: str, **options: Any) -> None:
        """Set the tables up where there are none, and add the site."""
        if not has_tables():
            self._set_up()
        name = name.strip()
        if Site.objects.filter(name=name).exists():
            raise CommandError(f"There is a site of the name “{name}” already.")
        try:
            site = add_site(name)
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from None
        self.stdout.write(
            f"Added the site “{site.name}”. Now add its lead, who can sign in and "
            "invite everybody else:\n"
            f'  manage.py add_person USERNAME --site "{site.name}" --role lead'
        )

    def _set_up(self) -> None:
        if not is_embedded():
            raise CommandError("The database has no tables yet. Run: manage.py migrate")
        make_data_folder()
        call_command("migrate", verbosity=0)
        self.stdout.write("Set up a new database in the data folder.")
