"""Installs question texts that a clinic is permitted to use."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from clinic.models import Site, User

from ...wording import DEMONSTRATION, install_wording
from ...wording_file import WordingError, read_wording


class Command(BaseCommand):
    """Nothing changes unless the whole file fits the catalogue."""

    help = (
        "Install the wording of a questionnaire from a TOML file; the layout stands "
        "at the top of outcomes/wording_file.py. The wording before it is retired "
        "and stays on record."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """Read the file, the site and the person who answers for it."""
        parser.add_argument("file", type=Path, help="the TOML file")
        parser.add_argument("--site", required=True, help="the name of the clinic")
        parser.add_argument("--by", required=True, help="user name of its lead")

    def handle(self, *args: Any, **options: Any) -> None:
        """Install, or say in one message everything that is wrong."""
        site = find_site(options["site"])
        by = find_person(options["by"])
        try:
            file = read_wording(options["file"])
            wording, is_new = install_wording(file, site=site, by=by)
        except WordingError as error:
            problems = "".join(f"\n  - {problem}" for problem in error.problems)
            raise CommandError(f"Not installed: {options['file']}{problems}") from error
        mark = f" {DEMONSTRATION}." if wording.is_demonstration else ""
        if is_new:
            self.stdout.write(f"Installed {wording} at {site}.{mark}")
        else:
            self.stdout.write(f"{wording} was installed already; nothing changed.")


def find_site(name: str) -> Site:
    """Return the site of that name; CommandError lists the sites there are."""
    site = Site.objects.filter(name=name).first()
    if site is None:
        known = ", ".join(Site.objects.values_list("name", flat=True)) or "none yet"
        raise CommandError(f"There is no clinic {name!r}. The clinics: {known}.")
    return site


def find_person(username: str) -> User:
    """Return the active person of that user name, or raise CommandError."""
    person = User.objects.filter(username=username, is_active=True).first()
    if person is None:
        raise CommandError(f"There is no active person with user name {username!r}.")
    return person
