"""Adds a person from the command line."""

from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.management import BaseCommand, CommandError, CommandParser

from ...access import Role
from ...installation import has_tables, own_address
from ...invitations import add_person, one_time_path
from ...models import Site, User

START_FIRST = " It answers while this runs on this machine:\n  manage.py serve"


class Command(BaseCommand):
    """Add a person to a site and print their one-time sign-in."""

    help = "Adds a person to a site and prints a one-time sign-in for them."

    def add_arguments(self, parser: CommandParser) -> None:
        """Take who, where and what for."""
        parser.add_argument(
            "username",
            help="for example the first letter and the family name: a.marlin",
        )
        parser.add_argument("--site", required=True, help="the name of the site")
        parser.add_argument("--role", required=True, choices=Role.values)
        parser.add_argument("--given-name", default="")
        parser.add_argument("--family-name", default="")

    def handle(
        self,
        *,
        username: str,
        site: str,
        role: str,
        given_name: str,
        family_name: str,
        **options: Any,
    ) -> None:
        """Add the person; the address is shown this once."""
        found = find_site(site)
        if User.objects.filter(username=username).exists():
            raise CommandError(
                f"There is a person of the user name {username} already: choose "
                "another user name. (For a new one-time sign-in, use the page People.)"
            )
        try:
            person = add_person(
                site=found,
                username=username,
                role=role,
                first_name=given_name,
                last_name=family_name,
            )
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from None
        self._show_one_time(person)

    def _show_one_time(self, person: User) -> None:
        role = person.get_role_display().lower()
        self.stdout.write(
            f"Added {person.username} to “{person.site.name}” as {role}.\n"
            f"The one-time sign-in of {person.username}:\n\n"
            f"  {own_address()}{one_time_path(person)}\n\n"
            "Hand it to that person only. It opens once, within three days, and asks "
            "for a passphrase of their own."
            + (START_FIRST if settings.IS_LOOPBACK_ONLY else "")
        )


def find_site(name: str) -> Site:
    """Find a site by its exact name, or say which there are."""
    if not has_tables():
        raise CommandError(no_site(name, []))
    if site := Site.objects.filter(name=name.strip()).first():
        return site
    names = Site.objects.order_by("name").values_list("name", flat=True)
    raise CommandError(no_site(name, list(names)))


def no_site(name: str, known: list[str]) -> str:
    """Say that there is no such site, and what to do."""
    listed = ", ".join(f"“{one}”" for one in known)
    there = f"The sites are: {listed}." if known else "There is no site at all yet."
    return f'There is no site “{name}”. {there} To add it: manage.py add_site "{name}"'
