"""Scores a file of forms to standard output as id,score,reason."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path
from tempfile import SpooledTemporaryFile
from typing import IO, Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from ...science.answer_file import LONGEST_LINE, BadFile, decoded, scored_rows
from ...science.measures import Measure, catalogue

# Project assumption: as many faults as somebody mends before trying again.
LISTED = 200
IN_MEMORY = 4_000_000  # bytes of result kept in memory before a temporary file


class Command(BaseCommand):
    """Nothing is printed unless the whole file could be read."""

    help = (
        "Score a CSV file of forms. Columns: id,1,2,...,n; an empty cell is a missing "
        "item; AKPS answers are letters. Prints id,score,reason."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("measure", help=f"one of {', '.join(catalogue())}")
        parser.add_argument("answers", type=Path, help="the CSV file")

    def handle(self, *args: Any, **options: Any) -> None:
        measure = catalogue().get(options["measure"])
        if measure is None:
            raise CommandError(
                f"There is no measure {options['measure']!r}. The measures are "
                f"{', '.join(catalogue())}."
            )
        with SpooledTemporaryFile(
            IN_MEMORY, mode="w+", encoding="utf-8", newline=""
        ) as result:
            _score_into(result, measure, options["answers"])
            result.seek(0)
            for line in result:
                self.stdout.write(line, ending="")


def _score_into(result: IO[str], measure: Measure, path: Path) -> None:
    """Write the scores of a file; CommandError with every row that is wrong."""
    writer = csv.writer(result, lineterminator="\n")
    writer.writerow(["id", "score", "reason"])
    faults = Faults()
    try:
        with path.open("rb") as answers:
            for row in scored_rows(measure, decoded(_lines(answers)), faults.add):
                writer.writerow([row.id, row.score, row.reason])
    except OSError as error:
        raise CommandError(f"{path} cannot be read: {error.strerror}.") from error
    except BadFile as error:
        faults.add(error)
    if faults.total:
        raise CommandError(faults.listed(path))


class Faults:
    """The faulty rows of a file: all are counted, the first are listed."""

    def __init__(self) -> None:
        self.total = 0
        self.first: list[BadFile] = []

    def add(self, fault: BadFile) -> None:
        """Note one faulty row."""
        self.total += 1
        if len(self.first) < LISTED:
            self.first.append(fault)

    def listed(self, path: Path) -> str:
        """Return one line a fault, and what to do."""
        lines = [f"{path}: {fault}" for fault in self.first]
        if (more := self.total - len(self.first)) > 0:
            lines.append(f"… and {more:,} more.")
        if self.total > 1:
            lines.append(f"Nothing was scored: correct these {self.total:,} rows.")
        return "\n".join(lines)


def _lines(answers: IO[bytes]) -> Iterator[bytes]:
    """Lines of bounded length, so that a file without line ends is refused early."""
    return iter(lambda: answers.readline(LONGEST_LINE + 2), b"")
