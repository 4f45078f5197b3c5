"""Reads one library file strictly: typed values, and no key left unread."""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar

T = TypeVar("T")


class LibraryError(ValueError):
    """A library file is wrong; the message names the file and the key."""

    def __init__(self, file: str, key: str, problem: str) -> None:
        super().__init__(f"{file}: {key}: {problem}")
        self.file = file
        self.key = key


@dataclass(slots=True)
class Fields:
    """One TOML table, whose readers raise LibraryError with file and key."""

    values: Mapping[str, Any]
    file: str
    path: str = ""
    _read: set[str] = field(default_factory=set)

    def fail(self, key: str, problem: str) -> LibraryError:
        return LibraryError(self.file, f"{self.path}{key}", problem)

    def take(self, key: str, of: type[T], default: T | None = None) -> T:
        """The value, of exactly this type: true is no number."""
        self._read.add(key)
        value = self.values.get(key, default)
        if value is None:
            raise self.fail(key, "is missing")
        if type(value) is not of:
            raise self.fail(key, f"must be {of.__name__}, not {value!r}")
        return value

    def text(self, key: str, default: str | None = None) -> str:
        value = self.take(key, str, default).strip()
        if not value and default is None:
            raise self.fail(key, "must not be empty")
        return value

    def choice(self, key: str, allowed: Collection[str]) -> str:
        return self._allowed(key, self.text(key), allowed)

    def texts(
        self, key: str, allowed: Collection[str] | None = None
    ) -> tuple[str, ...]:
        """A list of texts, empty where the key is absent, each at most once."""
        values = self.take(key, list, [])
        if not all(isinstance(value, str) and value.strip() for value in values):
            raise self.fail(key, "must be a list of texts")
        if len(set(values)) != len(values):
            raise self.fail(key, "names one twice")
        return tuple(
            value if allowed is None else self._allowed(key, value, allowed)
            for value in values
        )

    def span(self, key: str) -> tuple[int, int] | None:
        """Lowest and highest whole number, or none where the key is absent."""
        numbers = self.numbers(key)
        if not numbers:
            return None
        if len(numbers) != 2 or numbers[0] > numbers[1]:
            raise self.fail(key, "must be a lowest and a highest number")
        return numbers[0], numbers[1]

    def numbers(self, key: str) -> tuple[int, ...]:
        """A list of whole numbers from 0, empty where the key is absent."""
        values = self.take(key, list, [])
        if not all(type(value) is int and value >= 0 for value in values):
            raise self.fail(key, "must be whole numbers from 0")
        return tuple(values)

    def table(self, key: str) -> Fields:
        return self._inner(key, self.take(key, dict))

    def tables(self, key: str) -> Iterator[Fields]:
        """The tables of a list, each under its own key in messages."""
        for at, row in enumerate(self.take(key, list)):
            name = row.get("key", at + 1) if isinstance(row, dict) else at + 1
            yield self._inner(f"{key}[{name}]", row)

    def named(self) -> Iterator[tuple[str, Fields]]:
        """Every value as a table, under its name."""
        for key in self.values:
            yield key, self.table(key)

    def has(self, key: str) -> bool:
        return key in self.values

    def finish(self) -> None:
        """Refuse keys that nothing has read: a misspelt key is not ignored."""
        for key in self.values:
            if key not in self._read:
                raise self.fail(key, "is not a known key")

    def _inner(self, key: str, value: object) -> Fields:
        if not isinstance(value, dict):
            raise self.fail(key, "must be a table")
        return Fields(value, self.file, f"{self.path}{key}.")

    def _allowed(self, key: str, value: str, allowed: Collection[str]) -> str:
        if value not in allowed:
            known = ", ".join(sorted(allowed))
            raise self.fail(key, f"{value!r} is not one of {known}")
        return value


def read_file(path: Path) -> Fields:
    """Read one file; a file that is absent or not TOML is a LibraryError."""
    try:
        return Fields(tomllib.loads(path.read_text("utf-8")), path.name)
    except (OSError, ValueError) as error:
        raise LibraryError(path.name, "file", str(error)) from error
