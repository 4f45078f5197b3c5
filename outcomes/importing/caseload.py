"""Brings two files in: everything in one transaction, or nothing."""

from collections import Counter
from collections.abc import Callable
from contextlib import nullcontext
from dataclasses import dataclass
from datetime import date
from itertools import chain
from typing import IO

from django.db import transaction

from clinic.models import AuditEvent, Patient, User

from .. import audit
from . import observations, patients
from .cells import Rules
from .lookup import Lookup
from .matching import Caseload, Matching, Tally, stored_caseload
from .patients import Roster
from .placing import Placing
from .problems import Problem, Problems
from .reading import Sheet
from .scratch import Scratch
from .stored import Shelf
from .storing import Writer

SWAPPED = (
    "These two files seem to be swapped: give the patients and the observations each "
    "in its own place."
)
# Hears of a stage, of how much more of it is done (bytes, then rows), and of the
# whole, which is 0 while unknown.
Told = Callable[[str, int, int], object]


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """The two files, their names for the list of faults, and how dates are written."""

    patients: IO[bytes]
    observations: IO[bytes]
    patients_name: str = "patients.csv"
    observations_name: str = "observations.csv"
    is_day_first: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """What an import did, or would do; problems beyond those kept are counted."""

    problems: tuple[Problem, ...]
    problem_count: int
    # User names that nobody of the site has, each with how many rows name it.
    missing: Counter[str]
    added: Counter[str]
    known: Counter[str]
    withdrawn: int
    visits_assumed: int
    is_stored: bool

    @property
    def is_sound(self) -> bool:
        """Whether nothing is wrong with the files."""
        return self.problem_count == 0


class Import:
    """One import under way."""

    def __init__(
        self, source: Source, *, by: User, on: date, told: Told, request_id: str
    ) -> None:
        self.source = source
        self.by = by
        self.on = on
        self.told = told
        self.request_id = request_id
        self.problems = Problems()
        self.tally = Tally()
        self.patients = Sheet(
            source.patients,
            name=source.patients_name,
            columns=patients.COLUMNS,
            others=observations.COLUMNS,
            problems=self.problems,
        )
        self.observations = Sheet(
            source.observations,
            name=source.observations_name,
            columns=observations.COLUMNS,
            others=patients.COLUMNS,
            problems=self.problems,
        )

    def read(self, scratch: Scratch) -> Roster:
        """Read both files; asks the database for the site's people only."""
        rules = Rules.of_site(
            self.by.site, on=self.on, is_day_first=self.source.is_day_first
        )
        roster = patients.read_patients(self.patients, rules)
        observations.read_observations(
            self.observations,
            rules,
            scratch,
            told=lambda size: self.told("Reading", size, 0),
        )
        self._name_swap()
        scratch.sort()
        return roster

    def _name_swap(self) -> None:
        """Say once that the files are swapped, or that one was given for both."""
        if self.patients.is_the_other and self.observations.is_the_other:
            self.problems.add(self.patients.name, 1, "", SWAPPED)
            return
        for sheet, it_is in (
            (self.patients, "observations"),
            (self.observations, "patients"),
        ):
            if sheet.is_the_other:
                sentence = (
                    f"this file has the columns of {it_is}.csv: choose the other."
                )
                self.problems.add(sheet.name, 1, "", sentence)

    def place(self, scratch: Scratch, roster: Roster, writer: Writer) -> None:
        """Hold what was read against what is stored, and write it."""
        numbers = chain.from_iterable(scratch.record_numbers())
        caseload = stored_caseload(self.by.site, chain(sorted(roster.numbers), numbers))
        Matching(
            site=self.by.site,
            file=self.patients.name,
            roster=roster,
            caseload=caseload,
            problems=self.problems,
            tally=self.tally,
        ).match()
        if self.problems:
            writer.stop()
        writer.write_people(caseload)
        self._place_days(scratch, roster, caseload, writer)
        writer.write()

    def _place_days(
        self, scratch: Scratch, roster: Roster, caseload: Caseload, writer: Writer
    ) -> None:
        lookup = Lookup(
            file=self.observations.name,
            roster=roster,
            caseload=caseload,
            problems=self.problems,
        )
        placing = Placing(
            file=self.observations.name,
            lookup=lookup,
            problems=self.problems,
            tally=self.tally,
            writer=writer,
        )
        count = scratch.count()
        for numbers in scratch.record_numbers():
            placing.use(shelf_of(caseload, numbers))
            for facts in scratch.days(numbers[0], numbers[-1]):
                placing.place(facts)
                self.told("Checking", len(facts), count)
                if self.problems:
                    writer.stop()

    def keep_on_record(self) -> None:
        """Write the audit line of an import that added something."""
        if not +self.tally.added:
            return
        AuditEvent.objects.record(
            audit.RECORDS_IMPORTED,
            by=self.by,
            request_id=self.request_id,
            added=dict(self.tally.added),
            known=dict(self.tally.known),
            patients_sha256=self.patients.digest,
            observations_sha256=self.observations.digest,
        )

    def report(self, *, is_stored: bool) -> Report:
        """Return what was found."""
        return Report(
            problems=self.problems.in_order(),
            problem_count=self.problems.total,
            missing=self.problems.missing,
            added=+self.tally.added,
            known=+self.tally.known,
            withdrawn=self.tally.withdrawn,
            visits_assumed=self.tally.visits_assumed,
            is_stored=is_stored,
        )


def bring_in(
    source: Source,
    *,
    by: User,
    on: date,
    is_dry_run: bool = False,
    told: Told = lambda stage, more, of: None,
    request_id: str = "",
) -> Report:
    """Store both files for the site of `by`, or nothing when a row is wrong.

    `on` is the day that counts as today. A dry run takes no write lock.
    """
    run = Import(source, by=by, on=on, told=told, request_id=request_id)
    with Scratch() as scratch:
        roster = run.read(scratch)
        is_writing = not is_dry_run and not run.problems
        writer = Writer(by=by, request_id=request_id, is_on=is_writing)
        with transaction.atomic() if is_writing else nullcontext():
            run.place(scratch, roster, writer)
            if is_writing and run.problems:
                transaction.set_rollback(True)
            elif is_writing:
                run.keep_on_record()
    return run.report(is_stored=is_writing and not run.problems)


def shelf_of(caseload: Caseload, numbers: list[str]) -> Shelf:
    """Load what is stored about those of these people who are stored."""
    known: list[Patient] = [
        caseload.patients[number]
        for number in numbers
        if number in caseload.stored_numbers
    ]
    return Shelf([patient.pk for patient in known])
