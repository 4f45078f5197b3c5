"""What is wrong in a file, where, and what to do about it."""

from collections import Counter
from dataclasses import dataclass
from typing import Protocol

# Project assumption: nobody mends more than this from one list, and a file of a
# million faulty rows must not fill the memory.
KEPT = 10_000


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One fault; the line is where its row begins, an empty column is the row."""

    file: str
    line: int
    column: str
    sentence: str

    def __str__(self) -> str:
        place = f"{self.file} line {self.line}"
        return (
            f"{place}, {self.column}: {self.sentence}"
            if self.column
            else (f"{place}: {self.sentence}")
        )


class Unknown(Protocol):
    """A name that is nobody's at the site, and what to do about it."""

    username: str
    sentence: str


class Problems:
    """The faults of one import: all are counted, the first 10,000 are kept."""

    def __init__(self) -> None:
        self.total = 0
        # Rows that name each unknown person.
        self.missing: Counter[str] = Counter()
        self._kept: list[Problem] = []

    def __bool__(self) -> bool:
        return self.total > 0

    def add(self, file: str, line: int, column: str, sentence: str) -> None:
        """Note one fault."""
        self.total += 1
        if len(self._kept) < KEPT:
            self._kept.append(Problem(file, line, column, sentence))

    def add_missing(self, file: str, line: int, column: str, bad: "Unknown") -> None:
        """Note a person who is unknown: a fault where first named, then a count."""
        name = bad.username
        if name not in self.missing:
            self.add(file, line, column, bad.sentence)
        if name in self.missing or len(self.missing) < KEPT:
            self.missing[name] += 1

    def in_order(self) -> tuple[Problem, ...]:
        """Return what was kept, by file and line."""
        return tuple(sorted(self._kept))
