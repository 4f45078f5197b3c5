"""Holds the numbers of a section to the cases behind them."""

import re

from outcomes.trends.sections import Block, Section

KEY = re.compile(r"[a-z0-9_]+")


def check_traced(section: Section) -> None:
    """Every counting cell names a set of as many cases, and no set lies about."""
    used = set()
    for block in section.blocks:
        assert 0 <= block.n <= block.of
        for row in block.table.rows:
            assert len(row) == len(block.table.head)
            for cell in row:
                if cell.cases:
                    used.add(cell.cases)
                    assert number(cell.text) == len(section.sets[cell.cases]), cell
        for left in block.left_out:
            if left.cases:
                used.add(left.cases)
                assert left.count == len(section.sets[left.cases]), left
    assert used == set(section.sets)
    assert all(KEY.fullmatch(key) for key in section.sets)


def number(text: str) -> int:
    """Return the count that a cell tells: the n of a mean, or its first number."""
    found = re.search(r"n (\d+)$", text) or re.match(r"(\d+)", text)
    assert found, text
    return int(found[1])


def rows_of(block: Block) -> dict[str, list[str]]:
    """Return the table by the first cell of each row."""
    return {row[0].text: [cell.text for cell in row[1:]] for row in block.table.rows}
