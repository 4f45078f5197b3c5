"""Brings a clinic's spreadsheets in from the command line."""

import sys
from contextlib import ExitStack
from datetime import date
from pathlib import Path
from typing import IO, Any

from django.core.management import BaseCommand, CommandError, CommandParser
from django.db import IntegrityError
from django.utils import timezone
from tqdm import tqdm

from clinic.access import Capability, can
from clinic.installation import has_tables
from clinic.models import Site, User
from clinic.versions import StaleEdit

from ...importing.caseload import Report, Source, bring_in
from ...importing.reading import shown
from ...importing.summary import NAMED, missing_people, outcome, summary

# Project assumption: a shorter file is read before anybody looks for a bar.
LONG_FILE_BYTES = 2_000_000


class Command(BaseCommand):
    """Import patients.csv and observations.csv: everything, or nothing."""

    help = (
        "Brings in a caseload from two CSV files, all or nothing. Every faulty row is "
        "listed on standard error; the exit status is 0 only when all was stored."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the files, for whom, and how dates are written."""
        parser.add_argument("patients", type=Path, metavar="patients.csv")
        parser.add_argument("observations", type=Path, metavar="observations.csv")
        parser.add_argument("--site", required=True, help="the name of the site")
        parser.add_argument(
            "--by", required=True, metavar="USER", help="user name of the clinic lead"
        )
        parser.add_argument(
            "--day-first", action="store_true", help="read 31/12/2026 as a date, too"
        )
        parser.add_argument(
            "--on",
            metavar="DATE",
            help="the day that counts as today, like 2026-12-31",
        )
        parser.add_argument(
            "--dry-run", action="store_true", help="check everything, store nothing"
        )

    def handle(self, **options: Any) -> None:
        """Import, or list what is wrong."""
        site, capability = find_site(options["site"]), Capability.BRING_IN_RECORDS
        by = find_person(options["by"], site=site, capability=capability)
        with ExitStack() as files:
            source = Source(
                patients=opened(files, options["patients"]),
                observations=opened(files, options["observations"]),
                patients_name=options["patients"].name,
                observations_name=options["observations"].name,
                is_day_first=options["day_first"],
            )
            told = files.enter_context(Progress(options["observations"]))
            report = self._bring_in(source, by, told, options)
        self._list_problems(report, by.site)
        for line in summary(report):
            self.stdout.write(line)
        self.stdout.write(outcome(report))

    def _bring_in(
        self, source: Source, by: User, told: "Progress", options: dict[str, Any]
    ) -> Report:
        try:
            return bring_in(
                source,
                by=by,
                on=day_of(options["on"]),
                is_dry_run=options["dry_run"],
                told=told,
            )
        except (IntegrityError, StaleEdit):
            raise CommandError(
                "Nothing was stored: somebody changed the same records meanwhile. "
                "Run the same command again."
            ) from None

    def _list_problems(self, report: Report, site: Site) -> None:
        if report.is_sound:
            return
        for problem in report.problems:
            self.stderr.write(str(problem))
        if (more := report.problem_count - len(report.problems)) > 0:
            self.stderr.write(f"… and {more:,} more.")
        raise CommandError("\n".join([outcome(report), *how_to_add(report, site)]))


def how_to_add(report: Report, site: Site) -> list[str]:
    """Return who is missing, and the command that adds each of them."""
    if not report.missing:
        return []
    commands = [
        f'  manage.py add_person {shown(name)} --site "{site.name}" --role clinician'
        for name, _ in report.missing.most_common(NAMED)
    ]
    return [f"{missing_people(report)} Add them first:", *commands]


class Progress:
    """A bar on standard error for a long file, where somebody watches."""

    def __init__(self, path: Path) -> None:
        self.size = path.stat().st_size
        self.is_shown = sys.stderr.isatty() and self.size >= LONG_FILE_BYTES
        self.stage = ""
        self.bar: Any = None

    def __enter__(self) -> "Progress":
        return self

    def __exit__(self, *_: object) -> None:
        if self.bar is not None:
            self.bar.close()

    def __call__(self, stage: str, more: int, of: int) -> None:
        """Move on; a new stage begins a new bar."""
        if not self.is_shown:
            return
        if stage != self.stage:
            self.__exit__()
            unit = "rows" if of else "B"
            self.bar = tqdm(
                total=of or self.size, desc=stage, unit=unit, unit_scale=True
            )
            self.stage = stage
        self.bar.update(more)


def day_of(told: str | date | None) -> date:
    """Return the day that counts as today."""
    if not told:
        return timezone.localdate()
    try:
        return told if isinstance(told, date) else date.fromisoformat(told)
    except ValueError:
        raise CommandError(
            f"--on takes a date like 2026-12-31; here it says {told}."
        ) from None


def opened(files: ExitStack, path: Path) -> IO[bytes]:
    """Open a file that is closed with the rest, or say why it cannot be."""
    try:
        return files.enter_context(path.open("rb"))
    except OSError as error:
        raise CommandError(f"{path} cannot be opened: {error.strerror}.") from None


def find_site(name: str) -> Site:
    """Find the site, or say what to do."""
    if has_tables() and (site := Site.objects.filter(name=name.strip()).first()):
        return site
    raise CommandError(
        f"There is no site “{name}”. Add it and its people first:\n"
        f'  manage.py add_site "{name}"\n'
        f'  manage.py add_person USERNAME --site "{name}" --role lead'
    )


def find_person(username: str, *, site: Site, capability: Capability) -> User:
    """Find somebody of the site who may do this, or say what to do."""
    person = site.people.filter(username=username).first()
    if person is None:
        raise CommandError(
            f"There is no person {username} at “{site.name}”. Add the lead first:\n"
            f'  manage.py add_person {username} --site "{site.name}" --role lead'
        )
    if not can(person, capability):
        raise CommandError(
            f"{username} may not {capability}: name an active clinic lead of the site "
            "after --by."
        )
    return person
