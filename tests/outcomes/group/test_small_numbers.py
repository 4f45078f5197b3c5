"""Small counts are hidden, and an attacker with all the sums cannot work them out.

The attacker is another method than the one that hides: a linear programme over every
number in the table, with all that is shown and the knowledge that no hidden count is
zero. Sums of a table of two ways have whole-numbered corners, so its least and most
are the true ones.
"""

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from outcomes.science.group.small_numbers import (
    FLOOR,
    LEAST_FLOOR,
    Showing,
    ShownTable,
    is_small,
    share_shown,
    shown_list,
    shown_table,
)

Grid = list[list[int | None]]
counts = st.one_of(st.integers(0, 12), st.integers(0, 200))
tables = st.tuples(st.integers(1, 4), st.integers(1, 4)).flatmap(
    lambda size: st.lists(
        st.lists(counts, min_size=size[1], max_size=size[1]),
        min_size=size[0],
        max_size=size[0],
    )
)


def grid(shown: ShownTable) -> Grid:
    """Lay a table out with its totals, as the reader sees it."""
    rows = [
        [*row, total] for row, total in zip(shown.cells, shown.row_totals, strict=True)
    ]
    return [*rows, [*shown.column_totals, shown.total]]


def worked_out(seen: Grid) -> dict[tuple[int, int], int]:
    """Return every hidden count that the sums tell, as an attacker finds it."""
    height, width = len(seen), len(seen[0])
    lines = []
    for i in range(height):
        line = np.zeros((height, width))
        line[i, :-1], line[i, -1] = 1, -1
        lines.append(line.ravel())
    for j in range(width):
        line = np.zeros((height, width))
        line[:-1, j], line[-1, j] = 1, -1
        lines.append(line.ravel())
    limits = [(1, None) if v is None else (v, v) for row in seen for v in row]
    told = {}
    for place in np.ndindex(height, width):
        if seen[place[0]][place[1]] is None:
            aim = np.zeros((height, width))
            aim[place] = 1
            least, most = (
                linprog(sign * aim.ravel(), A_eq=lines, b_eq=np.zeros(len(lines)),
                        bounds=limits)
                for sign in (1, -1)
            )  # fmt: skip
            assert least.status == 0
            if most.status == 0 and -most.fun - least.fun < 0.5:
                told[place] = round(least.fun)
    return told


def test_the_attacker_can_solve_a_table_that_hides_small_counts_alone() -> None:
    """Without further hiding the sums tell; else the test below would say little."""
    naive: Grid = [[None, 20, 23], [30, 40, 70], [33, 60, 93]]
    assert worked_out(naive) == {(0, 0): 3}


@settings(deadline=None, max_examples=120)
@given(tables)
@example([[3, 20], [30, 40]])
@example([[1, 1, 30], [1, 1, 30], [30, 30, 30]])
@example([[1, 0], [0, 30]])
@example([[1, 0, 0], [0, 1, 0], [0, 0, 40]])
@example([[5, 0, 40], [50, 60, 70]])
def test_no_hidden_count_follows_from_the_sums(table: list[list[int]]) -> None:
    """Whatever the table; and everything small is hidden, in the margins too."""
    seen = grid(shown_table(table))
    rows = [[*row, sum(row)] for row in table]
    true = [*rows, [sum(column) for column in zip(*rows, strict=True)]]
    for row, true_row in zip(seen, true, strict=True):
        for value, expected in zip(row, true_row, strict=True):
            assert value in (None, expected)
            if is_small(expected):
                assert value is None
            if expected == 0:
                assert value == 0
    if len(table) > 1 and len(table[0]) > 1:
        assert worked_out(seen) == {}


@settings(deadline=None, max_examples=60)
@given(st.lists(counts, min_size=1, max_size=6), st.integers(LEAST_FLOOR, 20))
@example([3, 20, 40], 10)
@example([1, 1], 10)
@example([9], 10)
def test_no_hidden_count_of_a_list_follows_from_its_total(
    values: list[int], floor: int
) -> None:
    """The same for a single list, with any floor that is allowed."""
    shown = shown_list(values, floor=floor)
    cells, total = shown.cells, shown.total
    hidden = [value for value, cell in zip(values, cells, strict=True) if cell is None]
    assert all(v >= floor or not v for v in (c for c in cells if c is not None))
    if hidden and total is not None:
        assert len(hidden) > 1
        assert sum(hidden) > len(hidden)  # not all of them at their least of one


@settings(deadline=None, max_examples=60)
@given(tables)
def test_a_table_on_its_side_is_as_safe(table: list[list[int]]) -> None:
    """Rows and columns exchanged, a small count follows from no sum."""
    turned = [list(column) for column in zip(*table, strict=True)]
    if len(table) > 1 and len(table[0]) > 1:
        assert worked_out(grid(shown_table(turned))) == {}


def test_a_table_without_small_counts_is_shown_whole() -> None:
    """Nothing is hidden without need; zero and the floor itself are shown."""
    shown = shown_table([[10, 0], [30, 45]])
    assert grid(shown) == [[10, 0, 10], [30, 45, 75], [40, 45, 85]]


def test_totals_are_hidden_last() -> None:
    """One small count takes three cells with it and leaves every total."""
    shown = shown_table([[3, 20, 200], [30, 40, 300], [50, 60, 70]])
    assert shown.cells == ((None, None, 200), (None, None, 300), (50, 60, 70))
    assert shown.row_totals == (223, 370, 180)
    assert shown.column_totals == (83, 120, 570)
    assert shown.total == 773


def test_one_row_and_one_column_are_lists() -> None:
    """Their totals repeat the cells, and are hidden with them."""
    row = shown_table([[3, 20, 40]])
    assert grid(row) == [[None, None, 40, 63], [None, None, 40, 63]]
    column = shown_table([[3], [20], [40]])
    assert grid(column) == [[None, None], [None, None], [40, 40], [63, 63]]


def test_a_table_of_nothing() -> None:
    """No rows, no columns: zero in all."""
    assert shown_table([]) == ShownTable((), (), (), 0)
    assert shown_table([[], []]) == ShownTable(((), ()), (0, 0), (), 0)
    assert shown_list([]).total == 0


@pytest.mark.parametrize(
    ("of", "showing"),
    [
        (0, Showing.NO_DATA),
        (1, Showing.COUNTS),
        (9, Showing.COUNTS),
        (10, Showing.PER_CENT),
    ],
)
def test_a_per_cent_needs_the_floor(of: int, showing: Showing) -> None:
    """37.5 % with a hidden number of cases would say 3 of 8."""
    assert share_shown(of) is showing


def test_the_floor_is_ten_and_never_below_five() -> None:
    """A clinic may raise it, and lower it to five."""
    assert (FLOOR, LEAST_FLOOR) == (10, 5)
    assert share_shown(5, floor=5) is Showing.PER_CENT
    assert is_small(11, floor=12)
    with pytest.raises(ValueError, match="never below 5"):
        share_shown(8, floor=4)
    with pytest.raises(ValueError, match="never below 5"):
        shown_list([3], floor=4)


def test_what_is_no_table_is_refused() -> None:
    """Rows of one length, counts from zero up."""
    with pytest.raises(ValueError, match="one length"):
        shown_table([[1, 2], [3]])
    with pytest.raises(ValueError, match="below zero"):
        shown_list([-1, 20])
    with pytest.raises(ValueError, match="below zero"):
        share_shown(-1)
