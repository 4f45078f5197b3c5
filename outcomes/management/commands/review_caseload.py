"""Prints the caseload review of a site, or writes its tables as files."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.http import QueryDict
from django.utils import timezone

from clinic.models import Site
from clinic.replica import reading_from_replica
from clinic.templatetags.clinic_format import day

from ...exporting.csv_text import guarded
from ...period_choice import BASELINE_BANDS, DURATIONS
from ...period_form import PeriodForm
from ...trends_titles import TITLES

if TYPE_CHECKING:
    from ...trends.sections import Section

REPORT = "report.txt"


class Command(BaseCommand):
    """Reads; it changes nothing. The same sections as on the lead's pages."""

    help = (
        "Print the review of a site's caseload: for each question the answer, its "
        "numbers, what they count and what was left out. With --csv, write one CSV "
        "file a table and the whole text beside them."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare whose cases, which of them, and where the tables go."""
        parser.add_argument("--site", required=True, help="the name of the site")
        parser.add_argument("--from", dest="opened_from", metavar="DATE", help=FROM)
        parser.add_argument("--until", dest="opened_until", metavar="DATE", help=UNTIL)
        parser.add_argument("--clinician", metavar="USERNAME", help="of these alone")
        parser.add_argument("--side", choices=["left", "right"])
        parser.add_argument("--duration", choices=DURATIONS, help="symptoms at opening")
        parser.add_argument("--baseline", choices=BASELINE_BANDS, help="first score")
        parser.add_argument(
            "--section",
            action="append",
            choices=list(TITLES),
            help="one question alone; may be given several times",
        )
        parser.add_argument(
            "--csv", type=Path, metavar="DIR", help="a new or an empty folder"
        )

    def handle(self, **options: Any) -> None:
        """Print the sections or write them; CommandError says what to mend."""
        from ...trends.reading import build_sections

        folder: Path | None = options["csv"]
        if folder:
            _refuse_used(folder)
        site, on = _site(options["site"]), timezone.localdate()
        form = _chosen(options, site=site, on=on)
        keys = options["section"] or TITLES
        sections = reading_from_replica(
            lambda: build_sections(site, form.choice, on=on, keys=dict.fromkeys(keys))
        )
        text = "\n".join(_report(site, form, sections, on=on))
        if not folder:
            self.stdout.write(text)
            return
        written = _write(folder, sections, text)
        self.stdout.write(f"Wrote {written} tables and {REPORT} to {folder}.")


FROM = "first day of opening, like 2026-01-31; without it, two years back"
UNTIL = "last day of opening, that day included; without it, today"


def _site(name: str) -> Site:
    site = Site.objects.filter(name=name).first()
    if site is None:
        known = ", ".join(repr(one.name) for one in Site.objects.order_by("name"))
        raise CommandError(
            f"There is no site called {name!r}. The sites: {known or 'none yet'}."
        )
    return site


def _chosen(options: dict[str, Any], *, site: Site, on: date) -> PeriodForm:
    """Return the choice of cases, held to the same rules as on the pages."""
    sent = QueryDict(mutable=True)
    for name in ("opened_from", "opened_until", "side", "duration", "baseline"):
        if options[name]:
            sent[name] = options[name]
    if options["clinician"]:
        sent["clinician"] = str(_clinician(options["clinician"], site))
    form = PeriodForm(sent, site=site, on=on)
    if not form.is_valid():
        options_of = {"opened_from": "--from", "opened_until": "--until"}
        raise CommandError(
            "\n".join(
                f"{options_of.get(name, f'--{name}')}: {' '.join(map(str, errors))}"
                for name, errors in form.errors.items()
            )
        )
    return form


def _clinician(username: str, site: Site) -> int:
    treating = site.people.filter(episodes__isnull=False).distinct()
    person = treating.filter(username=username).first()
    if person is None:
        names = ", ".join(sorted(treating.values_list("username", flat=True)))
        raise CommandError(
            f"Nobody called {username!r} has a case at {site.name}. Those who have: "
            f"{names or 'nobody'}."
        )
    return person.pk


def _report(
    site: Site, form: PeriodForm, sections: list[Section], *, on: date
) -> Iterator[str]:
    """Yield the lines of the whole review, with what it is about at its head."""
    from ...trends.plain_text import section_lines

    choice = form.choice
    yield f"Caseload review of {site.name}, {day(on)}"
    yield f"Cases opened from {day(choice.from_on)} to {day(choice.until_on)}."
    yield from (f"{words}." for words in form.narrower)
    for section in sections:
        yield ""
        yield ""
        yield from section_lines(section)


def _refuse_used(folder: Path) -> None:
    if folder.exists() and not folder.is_dir():
        raise CommandError(f"{folder} is a file; --csv takes a folder.")
    if folder.is_dir() and any(folder.iterdir()):
        raise CommandError(f"{folder} holds files already; choose an empty folder.")


def _write(folder: Path, sections: list[Section], text: str) -> int:
    """Write one file for each table, and the text; return how many tables."""
    tables = [
        (f"{section.key}_{number}.csv", block.table)
        for section in sections
        for number, block in enumerate(section.blocks, 1)
    ]
    try:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / REPORT).write_text(f"{text}\n", encoding="utf-8")
        for name, table in tables:
            with (folder / name).open("w", encoding="utf-8", newline="") as file:
                writer = csv.writer(file)
                writer.writerow([guarded(head) for head in table.head])
                writer.writerows(
                    [guarded(cell.text) for cell in row] for row in table.rows
                )
    except OSError as error:
        raise CommandError(f"{folder} cannot be written: {error.strerror}.") from error
    return len(tables)
