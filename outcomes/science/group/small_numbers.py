"""When a number is too small to be shown, and what else must then be hidden.

A count from 1 to the floor less one is hidden in what is shared; zero and the floor
itself are shown. A hidden count must not follow from the totals beside it either, so
further counts are hidden: the cheapest ring of cells that leaves each hidden one at
least two possible values, to a reader who takes all that is shown together and knows
that no hidden count is zero. (Cell suppression on a network: Kelly, Golden, Assad 1992,
Networks 22:397; from memory.) The floor of 10 is a judgement of this project, in line
with rules of public bodies that hide 1 to 10, 1 to 7 or 1 to 5.
"""

from __future__ import annotations

import heapq
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from enum import Enum

FLOOR = 10
LEAST_FLOOR = 5
# A total is worth more to the reader than a cell: it is hidden last.
_COST_OF_TOTAL = 1_000_000

Node = Hashable
Place = tuple[int, int]


class Showing(Enum):
    """How a share may be written."""

    NO_DATA = "no data"
    COUNTS = "counts"
    PER_CENT = "per cent"


@dataclass(frozen=True, slots=True)
class ShownTable:
    """A table of counts as it may be shared; None stands where a count is hidden."""

    cells: tuple[tuple[int | None, ...], ...]
    row_totals: tuple[int | None, ...]
    column_totals: tuple[int | None, ...]
    total: int | None


@dataclass(frozen=True, slots=True)
class ShownList:
    """A list of counts as it may be shared; None stands where a count is hidden."""

    cells: tuple[int | None, ...]
    total: int | None


@dataclass(slots=True)
class _Count:
    """A count as a flow from one sum to the next; every sum is what comes and goes."""

    tail: Node
    head: Node
    value: int
    is_total: bool
    is_hidden: bool = False


def checked_floor(floor: int) -> int:
    """Return the floor, or raise ValueError below the least that is allowed."""
    if floor < LEAST_FLOOR:
        raise ValueError(f"The floor is never below {LEAST_FLOOR}.")
    return floor


def share_shown(of: int, *, floor: int = FLOOR) -> Showing:
    """Tell how a share of `of` cases may be written: a per cent needs the floor.

    Below it a per cent claims more than so few cases can say, and gives the count
    away where only the per cent is printed.
    """
    if of < 0:
        raise ValueError("A number of cases is not below zero.")
    if of == 0:
        return Showing.NO_DATA
    return Showing.COUNTS if of < checked_floor(floor) else Showing.PER_CENT


def is_small(count: int, *, floor: int = FLOOR) -> bool:
    """Tell whether a count is hidden for its own sake; zero is not."""
    return 0 < count < checked_floor(floor)


def shown_table(cells: Sequence[Sequence[int]], *, floor: int = FLOOR) -> ShownTable:
    """Hide what is small in a table with all its totals, and what would tell it."""
    if len({len(row) for row in cells}) > 1:
        raise ValueError("The rows of a table are of one length.")
    rows, columns = len(cells), len(cells[0]) if cells else 0
    if rows < 2 or columns < 2:
        return _narrow_table(cells, rows, columns, floor)
    counts: dict[Place, _Count] = {}
    for i, row in enumerate(cells):
        counts[i, columns] = _Count("rows", ("row", i), sum(row), is_total=True)
        for j, value in enumerate(row):
            counts[i, j] = _Count(("row", i), ("column", j), value, is_total=False)
    for j in range(columns):
        down = sum(row[j] for row in cells)
        counts[rows, j] = _Count(("column", j), "columns", down, is_total=True)
    everything = sum(map(sum, cells))
    counts[rows, columns] = _Count("columns", "rows", everything, is_total=True)
    _hide(list(counts.values()), floor)
    return _as_table(counts, rows, columns)


def shown_list(cells: Sequence[int], *, floor: int = FLOOR) -> ShownList:
    """Hide what is small in a list with its total, and what would tell it."""
    parts = [_Count("start", "end", value, is_total=False) for value in cells]
    total = _Count("end", "start", sum(cells), is_total=True)
    _hide([*parts, total], floor)
    return ShownList(tuple(map(_seen, parts)), _seen(total))


def _narrow_table(
    cells: Sequence[Sequence[int]], rows: int, columns: int, floor: int
) -> ShownTable:
    """Treat a single row or column as a list: its cells stand twice, as totals too."""
    flat = shown_list([value for row in cells for value in row], floor=floor)
    if columns == 1:
        across = tuple((value,) for value in flat.cells)
        return ShownTable(across, flat.cells, (flat.total,), flat.total)
    if rows == 1 and columns:
        return ShownTable((flat.cells,), (flat.total,), flat.cells, flat.total)
    return ShownTable(((),) * rows, (0,) * rows, (), 0)


def _as_table(counts: dict[Place, _Count], rows: int, columns: int) -> ShownTable:
    seen = {place: _seen(count) for place, count in counts.items()}
    return ShownTable(
        tuple(tuple(seen[i, j] for j in range(columns)) for i in range(rows)),
        tuple(seen[i, columns] for i in range(rows)),
        tuple(seen[rows, j] for j in range(columns)),
        seen[rows, columns],
    )


def _seen(count: _Count) -> int | None:
    return None if count.is_hidden else count.value


def _hide(counts: Sequence[_Count], floor: int) -> None:
    """Hide the small counts, then for each of them a ring that sets it free."""
    if any(count.value < 0 for count in counts):
        raise ValueError("A count is not below zero.")
    for count in counts:
        count.is_hidden = is_small(count.value, floor=floor)
    # A count hidden for another's sake lies in that one's ring: it is free as well.
    for count in [c for c in counts if c.is_hidden]:
        for further in _cheapest_ring(counts, count):
            further.is_hidden = True


def _cheapest_ring(counts: Sequence[_Count], about: _Count) -> list[_Count]:
    """Return the counts around a ring through `about`, by which it could differ.

    Every sum stays as it is when the counts around a ring go up by one, or down by
    one where they run against it. A hidden count costs nothing; a shown one costs its
    value; zero is always shown, and a one cannot go down.
    """
    up = _cheapest_way(counts, about, about.head, about.tail)
    down = None
    if about.value > 1:
        down = _cheapest_way(counts, about, about.tail, about.head)
    ways = [way for way in (up, down) if way is not None]
    return min(ways, key=lambda way: way[0])[1] if ways else []


def _cheapest_way(
    counts: Sequence[_Count], but: _Count, start: Node, end: Node
) -> tuple[int, list[_Count]] | None:
    """Return cost and counts of the cheapest way between two sums, or None."""
    steps = _steps(counts, but)
    best: dict[Node, int] = {start: 0}
    came: dict[Node, tuple[Node, _Count]] = {}
    waiting: list[tuple[int, int, Node]] = [(0, 0, start)]
    order = 0
    while waiting:
        cost, _, node = heapq.heappop(waiting)
        if node == end:
            return cost, _walked(came, start, end)
        for to, count in steps.get(node, ()):
            further = cost + _cost(count)
            if further < best.get(to, further + 1):
                best[to], came[to] = further, (node, count)
                order += 1
                heapq.heappush(waiting, (further, order, to))
    return None


def _steps(
    counts: Sequence[_Count], but: _Count
) -> dict[Node, list[tuple[Node, _Count]]]:
    """Return where each sum leads: along what may rise, against what may fall."""
    steps: dict[Node, list[tuple[Node, _Count]]] = {}
    for count in counts:
        if count is but or not count.value:
            continue
        steps.setdefault(count.tail, []).append((count.head, count))
        if count.value > 1:
            steps.setdefault(count.head, []).append((count.tail, count))
    return steps


def _cost(count: _Count) -> int:
    if count.is_hidden:
        return 0
    return count.value + _COST_OF_TOTAL * count.is_total


def _walked(
    came: dict[Node, tuple[Node, _Count]], start: Node, end: Node
) -> list[_Count]:
    way: list[_Count] = []
    node = end
    while node != start:
        node, count = came[node]
        way.append(count)
    return way
