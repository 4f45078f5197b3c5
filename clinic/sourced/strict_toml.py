"""Reads a file of numbers and sources strictly: typed values, no key left unread."""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any


class DataFileError(ValueError):
    """A file of numbers is wrong; the message names the file and the key."""

    def __init__(self, file: str, key: str, problem: str) -> None:
        super().__init__(f"{file}: {key}: {problem}")
        self.file = file
        self.key = key


@dataclass(slots=True)
class Table:
    """One TOML table, whose readers raise DataFileError with file and key."""

    values: Mapping[str, Any]
    file: str
    path: str = ""
    _read: set[str] = field(default_factory=set)

    def fail(self, key: str, problem: str) -> DataFileError:
        return DataFileError(self.file, f"{self.path}{key}", problem)

    def has(self, key: str) -> bool:
        return key in self.values

    def text(self, key: str, default: str | None = None) -> str:
        """A text without spaces around it; empty only where there is a default."""
        value = self._take(key, default)
        if not isinstance(value, str):
            raise self.fail(key, "must be text")
        if not value.strip() and default is None:
            raise self.fail(key, "must not be empty")
        return value.strip()

    def optional_text(self, key: str) -> str | None:
        return self.text(key) if key in self.values else None

    def choice(self, key: str, allowed: Collection[str]) -> str:
        return self._allowed(key, self.text(key), allowed)

    def number(self, key: str, default: float | None = None) -> float:
        value = self._take(key, default)
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self.fail(key, "must be a number")
        return value

    def optional_number(self, key: str) -> float | None:
        return self.number(key) if key in self.values else None

    def whole(self, key: str, default: int | None = None) -> int:
        value = self.number(key, default)
        if not isinstance(value, int):
            raise self.fail(key, "must be a whole number")
        return value

    def optional_whole(self, key: str) -> int | None:
        return self.whole(key) if key in self.values else None

    def flag(self, key: str, *, default: bool) -> bool:
        value = self._take(key, default)
        if not isinstance(value, bool):
            raise self.fail(key, "must be true or false")
        return value

    def sequence(self, key: str) -> Sequence[Any]:
        value = self._take(key, None)
        if not isinstance(value, list):
            raise self.fail(key, "must be a list")
        return value

    def texts(
        self, key: str, allowed: Collection[str] | None = None
    ) -> tuple[str, ...]:
        """A list of texts, empty where the key is absent, each at most once."""
        values = self.sequence(key) if key in self.values else ()
        if not all(isinstance(value, str) and value.strip() for value in values):
            raise self.fail(key, "must be a list of texts")
        if len(set(values)) != len(values):
            raise self.fail(key, "names one twice")
        if allowed is None:
            return tuple(values)
        return tuple(self._allowed(key, value, allowed) for value in values)

    def whole_numbers(self, key: str) -> tuple[int, ...]:
        """A list of whole numbers from 0, empty where the key is absent."""
        values = self.sequence(key) if key in self.values else ()
        if not all(type(value) is int and value >= 0 for value in values):
            raise self.fail(key, "must be whole numbers from 0")
        return tuple(values)

    def span(self, key: str) -> tuple[int, int] | None:
        """Lowest and highest whole number, or none where the key is absent."""
        numbers = self.whole_numbers(key)
        if not numbers:
            return None
        if len(numbers) != 2 or numbers[0] > numbers[1]:
            raise self.fail(key, "must be a lowest and a highest number")
        return numbers[0], numbers[1]

    def rows(self, key: str, *columns: Any) -> list[list[Any]]:
        """Lists of a fixed width whose cells have the types given."""
        rows = self.sequence(key)
        if all(_is_row(row, columns) for row in rows):
            return list(rows)
        raise self.fail(key, f"each must be a list of {len(columns)} plain values")

    def table(self, key: str) -> Table:
        return self._inner(key, self._take(key, None))

    def tables(self, key: str) -> tuple[Table, ...]:
        """The tables of a list; messages name each by its key, or by its place."""
        rows = enumerate(self.sequence(key), 1)
        return tuple(self._inner(f"{key}[{_name(row, at)}]", row) for at, row in rows)

    def named(self) -> Iterator[tuple[str, Table]]:
        """Every value as a table, under its name."""
        for key in self.values:
            yield key, self.table(key)

    def finish(self) -> None:
        """Refuse keys that nothing has read: a misspelt key is not ignored."""
        for key in self.values:
            if key not in self._read:
                raise self.fail(key, "is not a known key")

    def _inner(self, key: str, value: object) -> Table:
        if not isinstance(value, dict):
            raise self.fail(key, "must be a table")
        return Table(value, self.file, f"{self.path}{key}.")

    def _take(self, key: str, default: object) -> object:
        self._read.add(key)
        value = self.values.get(key, default)
        if value is None:
            raise self.fail(key, "is missing")
        return value

    def _allowed(self, key: str, value: str, allowed: Collection[str]) -> str:
        if value not in allowed:
            known = ", ".join(sorted(allowed))
            problem = f"{value!r} is not one of the known, it must be one of {known}"
            raise self.fail(key, problem)
        return value


def _name(row: object, at: int) -> object:
    return row.get("key", at) if isinstance(row, dict) else at


def _is_row(row: object, columns: tuple[Any, ...]) -> bool:
    if not isinstance(row, list) or len(row) != len(columns):
        return False
    pairs = zip(row, columns, strict=True)
    return all(isinstance(c, of) and not isinstance(c, bool) for c, of in pairs)


def read_file(path: Path) -> Table:
    """Read one file; a file that is absent or not TOML is a DataFileError."""
    try:
        return read_text(path.read_text("utf-8"), path.name)
    except (OSError, UnicodeError) as error:
        raise DataFileError(path.name, "file", str(error)) from error


def read_text(text: str, file: str) -> Table:
    """Read the text of one file; what is not TOML is a DataFileError."""
    try:
        return Table(tomllib.loads(text), file)
    except tomllib.TOMLDecodeError as error:
        raise DataFileError(file, "file", str(error)) from error
