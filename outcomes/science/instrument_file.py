"""Reads one instrument file strictly: typed values, and no key left unread."""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any


class CatalogueError(ValueError):
    """An instrument file is wrong; the message names the file and the key."""

    def __init__(self, file: str, key: str, problem: str) -> None:
        super().__init__(f"{file}: {key}: {problem}")
        self.file = file
        self.key = key


@dataclass(slots=True)
class Table:
    """One TOML table, whose readers raise CatalogueError with file and key."""

    values: Mapping[str, Any]
    file: str
    path: str = ""
    _read: set[str] = field(default_factory=set)

    def fail(self, key: str, problem: str) -> CatalogueError:
        return CatalogueError(self.file, f"{self.path}{key}", problem)

    def text(self, key: str, default: str | None = None) -> str:
        value = self._take(key, default)
        if not isinstance(value, str):
            raise self.fail(key, "must be text")
        return value

    def optional_text(self, key: str) -> str | None:
        return self.text(key) if key in self.values else None

    def choice(self, key: str, allowed: Collection[str]) -> str:
        value = self.text(key)
        if value not in allowed:
            raise self.fail(key, f"must be one of {', '.join(sorted(allowed))}")
        return value

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

    def rows(self, key: str, *columns: Any) -> list[list[Any]]:
        """Lists of a fixed width whose cells have the types given."""
        rows = self.sequence(key)
        if all(_is_row(row, columns) for row in rows):
            return list(rows)
        raise self.fail(key, f"each must be a list of {len(columns)} plain values")

    def table(self, key: str) -> Table:
        return self._inner(key, self._take(key, None))

    def tables(self, key: str) -> tuple[Table, ...]:
        rows = self.sequence(key)
        return tuple(self._inner(f"{key}[{at}]", row) for at, row in enumerate(rows))

    def has(self, key: str) -> bool:
        return key in self.values

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


def _is_row(row: object, columns: tuple[Any, ...]) -> bool:
    if not isinstance(row, list) or len(row) != len(columns):
        return False
    pairs = zip(row, columns, strict=True)
    return all(isinstance(c, of) and not isinstance(c, bool) for c, of in pairs)


def read_instrument(path: Path) -> Table:
    """Read one file; a file that is not TOML is a CatalogueError."""
    try:
        return Table(tomllib.loads(path.read_text("utf-8")), path.name)
    except ValueError as error:
        raise CatalogueError(path.name, "file", str(error)) from error
