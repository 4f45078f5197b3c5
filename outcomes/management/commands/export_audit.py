"""Writes an export for audit into a folder: whole, or nothing of it."""

import os
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any

from django.core.management import BaseCommand, CommandError, CommandParser
from django.utils import timezone
from tqdm import tqdm

from clinic.access import Capability
from clinic.models import User

from ...exporting.beginning import Begun, ExportRefused, Wanted, begin_export
from ...exporting.file_name import file_name
from ...exporting.writing import ExportStopped, export_chunks, stop_abandoned
from .import_caseload import find_person, find_site

STOPPED = "Stopped. No file was left, and the export is on the record as stopped."
BY_HAND = 130  # the exit status of a program that was interrupted


class Command(BaseCommand):
    """Export de-identified records: begun on the record, then written."""

    help = (
        "Writes a zip of de-identified records of the episodes opened in a period. "
        "It is on the audit trail before its first byte; interrupted, it leaves no "
        "file. Days are written like 2026-12-31."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the folder, who asks, and everything that goes on the record."""
        parser.add_argument("--out", type=Path, required=True, metavar="FOLDER")
        parser.add_argument("--site", required=True, help="the name of the site")
        parser.add_argument(
            "--by", required=True, metavar="USER", help="user name of the clinic lead"
        )
        for name, words in (
            ("--recipient", "who gets the file, by office or organisation"),
            ("--purpose", "what they will find out with it"),
            ("--legal-basis", "the rule, agreement or approval that allows it"),
        ):
            parser.add_argument(name, required=True, help=words)
        for name, words in (
            ("--destroy-by", "the day by which the recipient destroys the file"),
            ("--from", "the first day of opening"),
            ("--until", "the last day of opening"),
        ):
            parser.add_argument(name, required=True, metavar="DAY", help=words)

    def handle(self, **options: Any) -> None:
        """Begin the export and write its file, or say why not."""
        site = find_site(options["site"])
        capability = Capability.EXPORT_FOR_AUDIT
        by = find_person(options["by"], site=site, capability=capability)
        path = new_file(options["out"])
        stop_abandoned(by)
        try:
            with interruptible(), Progress() as told:
                begun = self._begin(wanted_from(options), by, told)
                write(path, begun, told)
        except KeyboardInterrupt:
            raise CommandError(STOPPED, returncode=BY_HAND) from None
        except (ExportRefused, ExportStopped) as refused:
            raise CommandError(str(refused)) from None
        except OSError as error:
            raise CommandError(f"{path}: {error.strerror}. {STOPPED}") from None
        self._tell(begun, path)

    def _begin(self, wanted: Wanted, by: User, told: "Progress") -> Begun:
        begun = begin_export(wanted, by=by, told=told)
        told.cases = begun.plan.released_rows
        return begun

    def _tell(self, begun: Begun, path: Path) -> None:
        self.stdout.write(begun.plan.because)
        self.stdout.write(
            f"Left out because they decline the use for audit: {begun.declined} "
            f"{'person' if begun.declined == 1 else 'people'}."
        )
        self.stdout.write(f"{path}\nSHA-256 {begun.export.sha256}")


class Progress:
    """A bar on standard error for each stage, where somebody watches."""

    def __init__(self) -> None:
        self.cases: int | None = None
        self._stage = ""
        self._bar: Any = None

    def __enter__(self) -> "Progress":
        return self

    def __exit__(self, *_: object) -> None:
        if self._bar is not None:
            self._bar.close()

    def __call__(self, stage: str, more: int) -> None:
        """Move on; a new stage begins a new bar."""
        if stage != self._stage:
            self.__exit__()
            # Without a terminal tqdm stays silent by itself.
            self._bar = tqdm(total=self.cases, desc=stage, unit=" cases", disable=None)
            self._stage = stage
        self._bar.update(more)


@contextmanager
def interruptible() -> Iterator[None]:
    """Take a request to end the program like Ctrl-C, so that it cleans up."""
    before = signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


def new_file(folder: Path) -> Path:
    """Return where the file will stand, or say why it cannot."""
    if not folder.is_dir():
        raise CommandError(f"{folder} is no folder. Make it first, or name another.")
    path = folder / file_name(timezone.now())
    if path.exists():
        raise CommandError(f"{path} exists already. Move it away; nothing was done.")
    return path


def wanted_from(options: dict[str, Any]) -> Wanted:
    """Return what was asked for, or say which of it cannot be read."""
    texts = {name: options[name].strip() for name in ("recipient", "purpose")}
    texts["legal_basis"] = options["legal_basis"].strip()
    for name, text in texts.items():
        if not text:
            raise CommandError(f"--{name.replace('_', '-')} is empty. Write it down.")
    return Wanted(
        **texts,
        destroy_by_on=day_of("--destroy-by", options["destroy_by"]),
        from_on=day_of("--from", options["from"]),
        until_on=day_of("--until", options["until"]),
    )


def day_of(option: str, told: str) -> date:
    """Return a day, or say how days are written."""
    try:
        return date.fromisoformat(told)
    except ValueError:
        raise CommandError(
            f"{option} takes a day like 2026-12-31; here it says {told}."
        ) from None


def write(path: Path, begun: Begun, told: Progress) -> None:
    """Write beside the name and rename at the end; on any failure leave nothing."""
    part = path.with_name(f"{path.name}.part")
    writing = export_chunks(begun, told=told)
    try:
        with open(part, "xb", buffering=0, opener=private) as file:
            for piece in writing:
                file.write(piece)
            os.fsync(file.fileno())
        part.rename(path)
    except BaseException:
        writing.close()
        part.unlink(missing_ok=True)
        raise


def private(path: str, flags: int) -> int:
    """Open a file that only its owner can read."""
    return os.open(path, flags, 0o600)
