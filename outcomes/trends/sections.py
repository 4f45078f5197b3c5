"""What every section is made of: words and numbers, no HTML and no database.

One template shows them, one report prints them, one command writes them as text.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

# Columns that say no more than that cases are counted.
PLAIN = ("Cases", "Opened", "Clinician")


@dataclass(frozen=True, slots=True)
class Cell:
    """One entry of a table; `cases` names the set of cases that it counts."""

    text: str
    cases: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """Numbers in rows; the first cell of a row is its heading."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]


@dataclass(frozen=True, slots=True)
class Figure:
    """A plotly figure whose traces name roles; `direction` says which way is better."""

    key: str
    title: str
    direction: str
    data: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Cases that a number does not cover, and why."""

    words: str
    count: int
    cases: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """One answer: a sentence, its numbers, what they cover and what they do not."""

    title: str
    says: str
    table: Table
    n: int
    of: int
    of_what: str
    figure: Figure | None = None
    left_out: tuple[LeftOut, ...] = ()
    notes: tuple[str, ...] = ()


def _words_of_cell(title: str, row: str, head: str) -> str:
    """Return the way to a number; a column of mere cases needs no name."""
    return f"{title}: {row}" + ("" if head in PLAIN else f" ({head.lower()})")


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """One question about the caseload, answered in blocks."""

    key: str
    title: str
    question: str
    blocks: tuple[Block, ...]
    cautions: tuple[str, ...] = ()
    # The episodes behind each set that a cell or a left-out line names.
    sets: Mapping[str, tuple[int, ...]]

    def words_of(self, name: str) -> str:
        """Say what a set of cases was counted as: table, row and column."""
        for block in self.blocks:
            for left in block.left_out:
                if left.cases == name:
                    return f"{block.title}: {left.words}"
            for row in block.table.rows:
                for head, cell in zip(block.table.head, row, strict=True):
                    if cell.cases == name:
                        return _words_of_cell(block.title, row[0].text, head)
        return self.title
