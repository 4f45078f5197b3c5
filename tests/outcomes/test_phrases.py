"""Numbers and dates in words."""

from datetime import date

import pytest

from outcomes.science.phrases import day_words, gain_words, number_words, points_words


@pytest.mark.parametrize(
    ("value", "decimals", "words"),
    [
        (80, 0, "80"),
        (100.0, 1, "100"),
        (2.50, 2, "2.5"),
        (-4, 1, "−4"),
        (-0.04, 1, "0"),
    ],
)
def test_numbers_lose_needless_zeros_only(
    value: float, decimals: int, words: str
) -> None:
    """Eighty stays eighty; minus nothing is nothing."""
    assert number_words(value, decimals=decimals) == words


def test_points_and_gains_have_their_unit() -> None:
    """One point is one point; a loss is said, not signed."""
    assert points_words(1) == "1 point"
    assert points_words(2.5) == "2.5 points"
    assert gain_words(-3) == "a loss of 3 points"
    assert gain_words(0.01) == "no change"


def test_days_do_not_depend_on_the_machines_language() -> None:
    """English months, no leading zero."""
    assert day_words(date(2026, 3, 3)) == "3 Mar 2026"
    assert day_words(float(date(2026, 12, 31).toordinal())) == "31 Dec 2026"
