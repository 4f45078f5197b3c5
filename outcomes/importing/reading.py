"""Reads a comma-separated file row by row, whatever the bytes are."""

import csv
import hashlib
from collections.abc import Iterator
from typing import IO, NamedTuple

from .problems import Problems

# Project assumption: one row, its long note included, fits into 64 KiB.
MOST_BYTES_PER_ROW = 64 * 1024
BYTE_ORDER_MARK = b"\xef\xbb\xbf"
SAVE_AGAIN = "Open it in the spreadsheet program and save it as “CSV UTF-8”."
# How files begin that are not text; from memory.
BEGINNINGS = (
    (b"PK\x03\x04", "This is a spreadsheet workbook, not a CSV file."),
    (b"\xd0\xcf\x11\xe0", "This is a spreadsheet workbook, not a CSV file."),
    (b"\xff\xfe", "This file is UTF-16 text, and only UTF-8 is read."),
    (b"\xfe\xff", "This file is UTF-16 text, and only UTF-8 is read."),
    (b"%PDF", "This is a PDF, not a CSV file."),
)


class Unreadable(Exception):
    """From this line on nothing can be read."""

    def __init__(self, line: int, sentence: str) -> None:
        super().__init__(sentence)
        self.line = line
        self.sentence = sentence


class Row(NamedTuple):
    """The cells of one row in the order of the columns asked for, trimmed.

    A row that is not whole was reported already; what it lacks is empty.
    """

    line: int
    cells: list[str]
    is_whole: bool


class Lines:
    """Physical lines of a file as text; counts, digests and limits what it reads."""

    def __init__(self, file: IO[bytes]) -> None:
        self.file = file
        self.number = 0
        self.size = 0
        self.row_began = 1
        self.row_size = 0
        self.has_other_bytes = False
        self.digest = hashlib.sha256()

    def __iter__(self) -> "Lines":
        return self

    def begin_row(self) -> int:
        """Start a row and return the number of its first line."""
        self.row_began = self.number + 1
        self.row_size = 0
        self.has_other_bytes = False
        return self.row_began

    def __next__(self) -> str:
        raw = self.file.readline(MOST_BYTES_PER_ROW + 1)
        if not raw:
            raise StopIteration
        self.number += 1
        self.size += len(raw)
        self.digest.update(raw)
        if self.number == 1:
            raw = check_beginning(raw)
        self.row_size += len(raw)
        self._check(raw)
        try:
            return raw.decode()
        except UnicodeDecodeError:
            self.has_other_bytes = True
            return raw.decode(errors="surrogateescape")

    def _check(self, raw: bytes) -> None:
        if b"\0" in raw:
            raise Unreadable(self.number, f"This is not a text file. {SAVE_AGAIN}")
        if self.row_size > MOST_BYTES_PER_ROW:
            raise Unreadable(
                self.row_began,
                "The row that begins here is longer than 64 KiB. Look for a "
                "quotation mark that is opened and not closed, or for a file that "
                "is not a table.",
            )


def check_beginning(raw: bytes) -> bytes:
    """Return the first line without a byte-order mark; name what is not text."""
    for beginning, sentence in BEGINNINGS:
        if raw.startswith(beginning):
            raise Unreadable(1, f"{sentence} {SAVE_AGAIN}")
    return raw.removeprefix(BYTE_ORDER_MARK)


class Sheet:
    """One file of a known layout; faults go to `problems`, rows to the caller."""

    def __init__(
        self,
        file: IO[bytes],
        *,
        name: str,
        columns: tuple[str, ...],
        problems: Problems,
        others: tuple[str, ...] = (),
    ) -> None:
        self.name = name
        self.columns = columns
        # The columns of the file that is brought in beside this one.
        self.others = others
        self.is_the_other = False
        self.problems = problems
        self.lines = Lines(file)
        self.is_readable = True

    @property
    def digest(self) -> str:
        """SHA-256 of what was read, in hexadecimal."""
        return self.lines.digest.hexdigest()

    def rows(self) -> Iterator[Row]:
        """Yield each row below the header that is not blank."""
        # Strict: a stray quotation mark is reported rather than guessed at.
        reader = csv.reader(self.lines, strict=True)
        try:
            places = self._read_header(reader)
            while places and (row := self._next_row(reader, places)):
                if row.cells:
                    yield row
        except Unreadable as fault:
            self.is_readable = False
            self.problems.add(self.name, fault.line, "", fault.sentence)

    def _read_header(self, reader: Iterator[list[str]]) -> list[int]:
        """Return where each column stands; nothing when the header is wrong."""
        try:
            cells = next(reader, [])
        except csv.Error as error:
            raise Unreadable(1, row_fault(error)) from None
        check_separator(cells)
        names = [tidy_name(cell) for cell in cells]
        self.is_the_other = bool(self.others) and set(self.others) <= set(names)
        if self.is_the_other:
            self.is_readable = False
            return []
        if not set(names) & set(self.columns):
            listed = ",".join(self.columns)
            raise Unreadable(1, f"The first line must name the columns: {listed}.")
        if self._has_wrong_columns(names):
            self.is_readable = False
            return []
        return [names.index(column) for column in self.columns]

    def _has_wrong_columns(self, names: list[str]) -> bool:
        wrong = {
            column: f"Add the column {column}; it is missing."
            for column in self.columns
            if column not in names
        }
        for name in filter(None, names):
            if name not in self.columns:
                wrong[name[:40]] = "Take this column away; it is not known here."
            elif names.count(name) > 1:
                wrong[name] = "Keep one column of this name; there are several."
        for column, sentence in wrong.items():
            self.problems.add(self.name, 1, shown(column), sentence)
        return bool(wrong)

    def _next_row(self, reader: Iterator[list[str]], places: list[int]) -> Row | None:
        """Return the next row, without cells if it is blank, or None at the end."""
        line = self.lines.begin_row()
        try:
            found = [cell.strip() for cell in next(reader)]
        except StopIteration:
            return None
        except csv.Error as error:
            self.problems.add(self.name, line, "", row_fault(error))
            return Row(line, [""] * len(places), is_whole=False)
        if not any(found):
            return Row(line, [], is_whole=True)
        is_whole = self._is_whole(line, found, places)
        found += [""] * (1 + max(places) - len(found))
        return Row(line, [found[place] for place in places], is_whole)

    def _is_whole(self, line: int, found: list[str], places: list[int]) -> bool:
        width = 1 + max(places)
        is_even = len(found) == width == len(places)
        if not is_even and not fits(found, places):
            self.problems.add(
                self.name,
                line,
                "",
                f"The row has {len(found)} cells and needs {width}: compare it with "
                "the header; a comma inside a cell needs quotation marks around it.",
            )
            return False
        if not self.lines.has_other_bytes:
            return True
        self._report_other_bytes(line, found, places)
        return False

    def _report_other_bytes(
        self, line: int, found: list[str], places: list[int]
    ) -> None:
        """Report cells that are not UTF-8, and empty them."""
        for column, place in zip(self.columns, places, strict=True):
            if not found[place].isascii() and is_not_utf8(found[place]):
                found[place] = ""
                self.problems.add(
                    self.name,
                    line,
                    column,
                    "This cell holds letters that are not UTF-8, and they are not "
                    f"guessed. {SAVE_AGAIN}",
                )


def is_not_utf8(cell: str) -> bool:
    """Tell whether bytes were carried through undecoded."""
    return any("\udc80" <= letter <= "\udcff" for letter in cell)


def tidy_name(cell: str) -> str:
    """Return a column's name as the layout writes it."""
    return "_".join(cell.lower().split())


def fits(found: list[str], places: list[int]) -> bool:
    """Tell whether a row reaches every column and holds nothing outside them."""
    outside = set(range(len(found))) - set(places)
    return len(found) > max(places) and not any(found[at] for at in outside)


def row_fault(error: csv.Error) -> str:
    """Say what to do about a row that the csv module refuses."""
    if "new-line" in str(error):
        return f"The ends of the lines cannot be read. {SAVE_AGAIN}"
    return (
        "The quotation marks of this row do not match: put the whole cell between "
        "quotation marks, and double those inside it."
    )


def check_separator(cells: list[str]) -> None:
    """Refuse a table whose cells are parted by something else than commas."""
    for mark, word in ((";", "semicolons"), ("\t", "tabs")):
        if len(cells) == 1 and mark in cells[0]:
            raise Unreadable(
                1,
                f"The cells are separated by {word}: save the file as "
                "comma-separated (CSV).",
            )


def shown(cell: str, most: int = 40) -> str:
    """Return a cell as it can be shown in a sentence: short and printable."""
    short = cell if len(cell) <= most else f"{cell[: most - 1]}…"
    return "".join(
        letter if letter.isprintable() else "\N{REPLACEMENT CHARACTER}"
        for letter in short
    )
