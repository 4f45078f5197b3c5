"""Reads patients.csv: one row an episode of care, checked by itself and as a set."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from typing import TypeVar

from clinic.models import Episode, Patient, Side, User

from .cells import BadCell, RowCheck, Rules, read_choice, read_words
from .reading import Row, Sheet

PERSON = ("family_name", "given_name", "birth_date", "sex")
COLUMNS = (
    "record_number",
    *PERSON,
    "side",
    "symptom_onset",
    "opened_on",
    "clinician",
    "discharged_on",
    "discharge_reason",
)
# Each day with the one before it, what is wrong if it is earlier, and whether
# the two may be the same.
DAYS_IN_ORDER = (
    ("symptom_onset", "birth_date", "the symptoms began before the birth date", False),
    (
        "opened_on",
        "symptom_onset",
        "the episode opened before the symptoms began",
        True,
    ),
    (
        "discharged_on",
        "opened_on",
        "the discharge is before the day on which the episode opened",
        True,
    ),
)
MOST_IN_NUMBER: int = Patient._meta.get_field("record_number").max_length or 0
MOST_IN_NAME: int = Patient._meta.get_field("family_name").max_length or 0
Value = TypeVar("Value")


@dataclass(frozen=True, slots=True, kw_only=True)
class EpisodeRow:
    """One sound row of patients.csv."""

    line: int
    record_number: str
    family_name: str
    given_name: str
    birth_date: date
    sex: str
    side: str
    symptom_onset: date
    opened_on: date
    clinician: User
    discharged_on: date | None
    discharge_reason: str

    @property
    def knee(self) -> tuple[str, str]:
        """Record number and side."""
        return self.record_number, self.side


@dataclass(slots=True)
class Roster:
    """The sound rows of patients.csv, and which observations a faulty one excuses."""

    rows: list[EpisodeRow] = field(default_factory=list)
    # Knees of faulty rows; the side is empty where it could not be read.
    faulty: set[tuple[str, str]] = field(default_factory=set)
    numbers: set[str] = field(default_factory=set)
    # A row without a readable record number may be the one that is missing.
    is_complete: bool = True

    def excuses_knee(self, record_number: str, side: str) -> bool:
        """Whether a missing episode of this knee is the fault of its own row."""
        return bool({(record_number, side), (record_number, "")} & self.faulty)

    def excuses_number(self, record_number: str) -> bool:
        """Whether an unknown record number may be the fault of patients.csv."""
        return record_number in self.numbers or not self.is_complete

    def put_aside(self, row: EpisodeRow) -> None:
        """Take out a row that turned out to be faulty."""
        self.rows.remove(row)
        self.faulty.add(row.knee)


def read_patients(sheet: Sheet, rules: Rules) -> Roster:
    """Read every row; those with a fault are left out and remembered."""
    roster = Roster()
    first_of: dict[str, EpisodeRow] = {}
    seen: set[tuple[str, ...]] = set()
    for row in sheet.rows():
        if tuple(row.cells) in seen:
            continue
        check = RowCheck(sheet.name, row.line, sheet.problems)
        read = _read_row(row, check, rules)
        if read:
            agrees(check, read, first_of.setdefault(read.record_number, read))
        if not check.is_faulty:
            seen.add(tuple(row.cells))
        _take_in(roster, row, None if check.is_faulty else read)
    roster.is_complete = roster.is_complete and sheet.is_readable
    return roster


def _take_in(roster: Roster, row: Row, read: EpisodeRow | None) -> None:
    number, side = row.cells[0], row.cells[5].lower()
    if 0 < len(number) <= MOST_IN_NUMBER:
        roster.numbers.add(number)
    else:
        roster.is_complete = False
    if read:
        roster.rows.append(read)
    elif number:
        roster.faulty.add((number, side if side in Side.values else ""))


def agrees(check: RowCheck, row: EpisodeRow, first: EpisodeRow) -> None:
    """Hold a person's details against the first row of the same record number."""
    for column in PERSON:
        if getattr(row, column) != getattr(first, column):
            check.wrong(
                column,
                f"this differs from line {first.line}, which has the same record "
                "number: make the two rows agree.",
            )


def _read_row(row: Row, check: RowCheck, rules: Rules) -> EpisodeRow | None:
    """Return the row as read, or None when a cell is wrong."""
    if not row.is_whole:
        check.is_faulty = True
        return None
    cells = dict(zip(COLUMNS, row.cells, strict=True))
    read: dict[str, object] = {
        column: _read_cell(check, column, cells[column], how)
        for column, how in _how_to_read(rules).items()
    }
    _check_discharge(check, cells)
    _check_order(check, read)
    if check.is_faulty:
        return None
    return EpisodeRow(line=row.line, **read)  # type: ignore[arg-type]


def _how_to_read(rules: Rules) -> dict[str, Callable[[str], object]]:
    sexes, sides = tuple(Patient.Sex.values), tuple(Side.values)
    reasons = tuple(Episode.Reason.values)
    return {
        "record_number": lambda text: read_words(text, longest=MOST_IN_NUMBER),
        "family_name": lambda text: read_words(text, longest=MOST_IN_NAME),
        "given_name": lambda text: read_words(text, longest=MOST_IN_NAME),
        "birth_date": rules.day,
        "sex": lambda text: read_choice(text, sexes, "sex"),
        "side": lambda text: read_choice(text, sides, "side"),
        "symptom_onset": rules.day,
        "opened_on": rules.day,
        "clinician": rules.clinician,
        "discharged_on": lambda text: rules.day(text) if text else None,
        "discharge_reason": lambda text: (
            read_choice(text, reasons, "the reason") if text else ""
        ),
    }


def _read_cell(
    check: RowCheck, column: str, text: str, how: Callable[[str], Value]
) -> Value | None:
    try:
        return how(text)
    except BadCell as bad:
        check.take(column, bad)
        return None


def _check_discharge(check: RowCheck, cells: dict[str, str]) -> None:
    """A discharge has a day and a reason, or neither."""
    day, reason = cells["discharged_on"], cells["discharge_reason"]
    if day and not reason:
        listed = ", ".join(Episode.Reason.values)
        check.wrong(
            "discharge_reason", f"say why the case was discharged: one of {listed}."
        )
    if reason and not day:
        check.wrong(
            "discharged_on", "give the day of the discharge, or take the reason away."
        )


def _check_order(check: RowCheck, read: dict[str, object]) -> None:
    """Birth, onset, opening and discharge follow each other."""
    for column, earlier, sentence, may_be_same in DAYS_IN_ORDER:
        day, before = read[column], read[earlier]
        if not isinstance(day, date) or not isinstance(before, date):
            continue
        if day < before or (day == before and not may_be_same):
            check.wrong(column, f"{sentence} ({before}): correct one of the two dates.")
