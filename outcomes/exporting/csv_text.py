"""Rows as text: RFC 4180, UTF-8 without a byte order mark, safe in a spreadsheet.

Lines end in CR LF, the first names the columns, a cell with a comma, a quote or a line
end is quoted, a missing value is an empty cell. A text that a spreadsheet would take
for a formula gets a single quote in front (OWASP on CSV injection, ASVS 5.0 1.2.10; the
full-width signs from memory). The guard knows a column by its type and never guesses:
a number below zero keeps its minus. No coded cell ever needs it.
"""

from __future__ import annotations

import csv
import hashlib
import io
import math
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import BinaryIO

from .table_shape import Column, Table, Type

Value = str | int | float | None
# = + - @, TAB, CR, LF, NUL, and = + - @ in full width.
TRIGGERS = "=+-@\t\r\n\0\uff1d\uff0b\uff0d\uff20"
# What a program may trim before it looks for a formula, beside white space.
UNSEEN = "\ufeff\u200b\u200c\u200d\u2060"
DECIMALS = 4


class NotListed(ValueError):
    """A row does not fit the allow-list; names the column, never the value."""


@dataclass(frozen=True, slots=True)
class Written:
    """One file as it was written; `size` is in bytes."""

    name: str
    rows: int
    sha256: str
    size: int


def guarded(text: str) -> str:
    """Return the text so that no spreadsheet takes it for a formula."""
    trimmed = text.lstrip()
    while trimmed and trimmed[0] in UNSEEN:
        trimmed = trimmed[1:].lstrip()
    starts = (text[:1], trimmed[:1])
    return f"'{text}" if any(one and one in TRIGGERS for one in starts) else text


def cell(column: Column, value: Value) -> str:
    """Return the text of a cell; NotListed where the value may not stand there."""
    if value is None or value == "":
        if column.is_required:
            raise NotListed(f"{column.name}: every row needs a value.")
        return ""
    if column.type in (Type.TEXT, Type.YEAR):
        return _text(column, value)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise NotListed(f"{column.name}: only numbers may leave.")
    return _number(column, value)


def write_table(
    file: BinaryIO, table: Table, rows: Iterable[Mapping[str, Value]]
) -> Written:
    """Write header and rows as they come, holding one row at a time.

    Each row is a mapping of exactly the listed names; None is an empty cell. The
    caller's iterable shows progress and may raise to cancel. Raises NotListed.
    """
    digest, size, count = hashlib.sha256(), 0, 0
    for line in lines(table, rows):
        digest.update(line)
        size += len(line)
        count += 1
        file.write(line)
    return Written(table.file_name, count - 1, digest.hexdigest(), size)


def lines(table: Table, rows: Iterable[Mapping[str, Value]]) -> Iterator[bytes]:
    """Yield the header and then each row as it is taken, as `write_table` does."""
    names = [column.name for column in table.columns]
    for cells in _lines(table, names, rows):
        yield _line(cells)


def _lines(
    table: Table, names: list[str], rows: Iterable[Mapping[str, Value]]
) -> Iterable[list[str]]:
    """Yield the header, then the cells of each row in the order of the list."""
    yield names
    listed = set(names)
    for row in rows:
        if row.keys() != listed:
            odd = ", ".join(sorted(row.keys() ^ listed))
            raise NotListed(f"{table.file_name}: missing or not listed: {odd}.")
        yield [cell(column, row[column.name]) for column in table.columns]


def _line(cells: list[str]) -> bytes:
    """Return one line as bytes, its end included."""
    text = io.StringIO()
    csv.writer(text, lineterminator="\r\n").writerow(cells)
    return text.getvalue().encode("utf-8")


def _text(column: Column, value: Value) -> str:
    """Return a listed word, or one of the listed pattern; a year may be a number."""
    words = str(value) if column.type is Type.YEAR else value
    if not isinstance(words, str):
        raise NotListed(f"{column.name}: only text may leave.")
    if column.allowed and words not in column.allowed:
        raise NotListed(f"{column.name}: the value is not on its list.")
    if column.pattern and not re.fullmatch(column.pattern, words, re.ASCII):
        raise NotListed(f"{column.name}: the value has another form.")
    if not column.allowed and not column.pattern:
        raise NotListed(f"{column.name}: a text column needs a list or a pattern.")
    return guarded(words)


def _number(column: Column, value: float) -> str:
    """Return a number without exponent or needless zeros, to four decimals."""
    if not math.isfinite(value):
        raise NotListed(f"{column.name}: not a number.")
    if column.type is Type.WHOLE and value != int(value):
        raise NotListed(f"{column.name}: only whole numbers may leave.")
    if column.allowed and value not in column.allowed:
        raise NotListed(f"{column.name}: the value is not on its list.")
    is_low = column.low is not None and value < column.low
    if is_low or (column.high is not None and value > column.high):
        raise NotListed(f"{column.name}: outside of its range.")
    rounded = round(value, DECIMALS)
    if rounded == int(rounded):
        return str(int(rounded))
    return f"{rounded:.{DECIMALS}f}".rstrip("0")
