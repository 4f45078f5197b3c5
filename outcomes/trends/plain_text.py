"""A section as plain text, for a terminal or a file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import wrap

from .sections import Block, Section, Table

WIDTH = 96
FIRST_COLUMN, OTHER_COLUMNS = 42, 20
GAP = "  "


def section_lines(section: Section) -> Iterator[str]:
    """Yield the lines of a section; no line ends in white space."""
    yield section.title
    yield "=" * len(section.title)
    yield from _wrapped(section.question)
    for caution in section.cautions:
        yield from _wrapped(caution, first="! ")
    for block in section.blocks:
        yield ""
        yield from block_lines(block)


def block_lines(block: Block) -> Iterator[str]:
    """Yield the answer, its table, what it counts and what it does not."""
    yield block.title
    yield "-" * len(block.title)
    yield from _wrapped(block.says)
    if block.table.rows:
        yield ""
        yield from table_lines(block.table)
        yield ""
    yield from _wrapped(f"n = {block.n} of {block.of} {block.of_what}")
    for left in block.left_out:
        yield from _wrapped(f"Left out: {left.count} {left.words}")
    for note in block.notes:
        yield from _wrapped(note, first="- ")


def table_lines(table: Table) -> Iterator[str]:
    """Yield a table in columns, with its caption; long entries go on below."""
    rows = [list(table.head), *([cell.text for cell in row] for row in table.rows)]
    widths = [_width(column, at) for at, column in enumerate(zip(*rows, strict=True))]
    yield from _wrapped(table.caption)
    rule = GAP.join("-" * width for width in widths)
    for at, row in enumerate(rows):
        yield from _row(row, widths)
        if at == 0:
            yield rule


def _width(column: Sequence[str], at: int) -> int:
    """Return how wide a column is: its longest entry, or the limit for long ones."""
    longest = max(map(len, column))
    word = max((len(word) for text in column for word in text.split()), default=0)
    return max(min(longest, OTHER_COLUMNS if at else FIRST_COLUMN), word)


def _row(row: Sequence[str], widths: Sequence[int]) -> Iterator[str]:
    cells = [
        wrap(text, width, break_on_hyphens=False) or [""]
        for text, width in zip(row, widths, strict=True)
    ]
    for at in range(max(map(len, cells))):
        parts = [lines[at] if at < len(lines) else "" for lines in cells]
        placed = zip(parts, widths, strict=True)
        yield GAP.join(part.ljust(width) for part, width in placed).rstrip()


def _wrapped(words: str, *, first: str = "") -> list[str]:
    return wrap(
        words,
        WIDTH,
        initial_indent=first,
        subsequent_indent=" " * len(first),
        break_on_hyphens=False,
    )
