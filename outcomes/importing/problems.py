"""What is wrong in a file, where, and what to do about it."""

from dataclasses import dataclass

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


class Problems:
    """The faults of one import: all are counted, the first 10,000 are kept."""

    def __init__(self) -> None:
        self.total = 0
        self._kept: list[Problem] = []

    def __bool__(self) -> bool:
        return self.total > 0

    def add(self, file: str, line: int, column: str, sentence: str) -> None:
        """Note one fault."""
        self.total += 1
        if len(self._kept) < KEPT:
            self._kept.append(Problem(file, line, column, sentence))

    def in_order(self) -> tuple[Problem, ...]:
        """Return what was kept, by file and line."""
        return tuple(sorted(self._kept))
