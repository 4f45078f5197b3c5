"""Rows as text: RFC 4180, UTF-8 without a byte order mark, safe in a spreadsheet."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import BinaryIO

from .columns import Table

Value = str | int | float | None


class NotListed(ValueError):
    """A row does not fit the allow-list; names the column, never the value."""


@dataclass(frozen=True, slots=True)
class Written:
    """One file as it was written."""

    name: str  # episodes.csv
    rows: int
    sha256: str
    size: int


def guarded(text: str) -> str:
    """Return the text so that no spreadsheet takes it for a formula."""
    raise NotImplementedError


def write_table(
    file: BinaryIO, table: Table, rows: Iterable[Mapping[str, Value]]
) -> Written:
    """Write header and rows as they come, holding one row at a time.

    Each row is a mapping of exactly the listed names; None is an empty cell. The
    caller's iterable shows progress and may raise to cancel. Raises NotListed.
    """
    raise NotImplementedError
