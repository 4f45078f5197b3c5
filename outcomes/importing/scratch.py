"""Facts of one import on disk, so that memory does not grow with the files."""

import sqlite3
from collections.abc import Iterable, Iterator
from itertools import groupby
from typing import NamedTuple, Self

TABLE = """
CREATE TABLE facts (
    record_number TEXT NOT NULL, day INTEGER NOT NULL, side TEXT NOT NULL,
    measure TEXT NOT NULL, item TEXT NOT NULL, value, by_id INTEGER NOT NULL,
    line INTEGER NOT NULL
)
"""
PERSONS_AT_ONCE = 200


class Fact(NamedTuple):
    """One observation whose cells are right; the day as a proleptic ordinal.

    The measure is empty where only record number, side and day could be read.
    """

    record_number: str
    day: int
    side: str
    measure: str
    item: str
    value: str | int | None
    by_id: int
    line: int


class Scratch:
    """A table that exists only while the import runs; its file has no name."""

    def __enter__(self) -> Self:
        # An empty name: SQLite keeps it in memory up to its cache, then in a
        # temporary file that is gone with the connection.
        self._table = sqlite3.connect("", isolation_level=None)
        self._table.execute("PRAGMA journal_mode = OFF")
        self._table.execute("PRAGMA synchronous = OFF")
        self._table.execute("PRAGMA cache_size = -20000")  # 20 MB
        self._table.execute(TABLE)
        return self

    def __exit__(self, *_: object) -> None:
        self._table.close()

    def add(self, facts: Iterable[Fact]) -> None:
        """Append facts."""
        self._table.execute("BEGIN")
        self._table.executemany("INSERT INTO facts VALUES (?,?,?,?,?,?,?,?)", facts)
        self._table.execute("COMMIT")

    def sort(self) -> None:
        """Prepare for reading person by person and day by day."""
        self._table.execute("CREATE INDEX in_order ON facts (record_number, day)")

    def count(self) -> int:
        """Return how many facts there are."""
        return int(self._table.execute("SELECT count(*) FROM facts").fetchone()[0])

    def record_numbers(self) -> Iterator[list[str]]:
        """Yield the record numbers in order, some hundred at a time."""
        found = self._table.execute(
            "SELECT DISTINCT record_number FROM facts ORDER BY record_number"
        )
        while some := found.fetchmany(PERSONS_AT_ONCE):
            yield [number for (number,) in some]

    def days(self, first: str, last: str) -> Iterator[list[Fact]]:
        """Yield the facts of one person's one day, for a range of record numbers."""
        found = self._table.execute(
            "SELECT * FROM facts WHERE record_number BETWEEN ? AND ? "
            "ORDER BY record_number, day, line",
            (first, last),
        )
        facts = map(Fact._make, found)
        for _, group in groupby(facts, key=lambda fact: (fact.record_number, fact.day)):
            yield list(group)
