"""Days rounded to windows of weeks."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from outcomes.exporting.windows import WEEKS, nearest, window_of


@pytest.mark.parametrize(
    ("day", "weeks"),
    [
        (-15, None),
        (-14, 0),
        (-1, 0),
        (0, 0),
        (10, 0),
        (11, 3),
        (21, 3),
        (31, 3),
        (32, 6),
        (52, 6),
        (53, 9),
        (73, 9),
        (74, 12),
        (84, 12),
        (132, 12),
        (133, 12),  # half-way between 12 and 26 weeks: the earlier
        (134, 26),
        (273, 26),  # half-way between 26 and 52 weeks: the earlier
        (274, 52),
        (364, 52),
        (455, 52),
        (456, None),
    ],
)
def test_windows_at_their_edges(day: int, weeks: int | None) -> None:
    """Windows of the statistics reference 1.3; ties and ends a project assumption."""
    assert window_of(day) == weeks


def test_one_row_is_kept_per_window() -> None:
    """The nearest stays, of two as near the earlier; the others are counted."""
    rows = [(0, "a"), (3, "b"), (20, "c"), (22, "d"), (40, "e"), (42, "f"), (700, "g")]
    found = nearest(rows)
    assert found.kept == {0: "a", 3: "c", 6: "f"}
    assert found.left_out == 4


def test_the_tie_does_not_depend_on_the_order_of_rows() -> None:
    """Days 20 and 22 are as near to week 3 in whichever order they come."""
    assert nearest([(22, "late"), (20, "early")]).kept == {3: "early"}


def test_nothing_gives_nothing() -> None:
    """An episode without a row has none, and none is left out."""
    assert nearest([]).kept == {}
    assert nearest([]).left_out == 0


@given(st.lists(st.integers(-100, 800)))
def test_every_row_is_kept_or_counted(days: list[int]) -> None:
    """Nothing is lost silently; each kept row lies in its own window."""
    found = nearest([(day, day) for day in days])
    assert len(found.kept) + found.left_out == len(days)
    assert list(found.kept) == sorted(found.kept)
    for weeks, day in found.kept.items():
        assert window_of(day) == weeks
        assert weeks in WEEKS
        rivals = [other for other in days if window_of(other) == weeks]
        assert abs(weeks * 7 - day) == min(abs(weeks * 7 - other) for other in rivals)
