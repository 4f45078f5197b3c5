"""Runs and crossings, against worked limits, counting out, and many rows of luck."""

from math import comb

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from outcomes.science.group.run_rules import FEWEST_USEFUL, runs

# Anhøj & Olesen 2014, PLoS ONE 9:e113825: rules confirmed, formulas from memory;
# n useful points, a longer run than this, or fewer crossings, is a shift.
LIMITS = [(12, 7, 3), (16, 7, 4), (20, 7, 6), (24, 8, 8), (36, 8, 13)]
# Constructed; median, useful points, longest run and crossings computed.
SERIES = [12, 10, 14, 11, 13, 9, 12, 15, 10, 12, 13, 11, 8, 7, 8, 6]


@pytest.mark.parametrize(("n", "longest", "fewest"), LIMITS)
def test_limits_match_the_worked_table(n: int, longest: int, fewest: int) -> None:
    """Both limits for five lengths."""
    found = runs([0, 1] * (n // 2), 0.5)
    assert (found.useful, found.crossings) == (n, n - 1)
    assert (found.longest_expected, found.fewest_expected) == (longest, fewest)


def test_a_worked_series_shows_no_shift() -> None:
    """Median 11, 14 useful, longest run 4, 7 crossings, no signal."""
    found = runs(SERIES, float(np.median(SERIES)))
    assert np.median(SERIES) == 11
    assert (found.useful, found.longest, found.crossings) == (14, 4, 7)
    assert not found.is_shift


def test_a_long_run_is_a_shift() -> None:
    """Eight of twelve on one side in a row; seven are not enough."""
    assert runs([1] * 8 + [-1, 1, -1, 1], 0).is_shift
    assert not runs([1] * 7 + [-1, 1, -1, 1, -1], 0).is_shift


def test_few_crossings_are_a_shift_without_a_long_run() -> None:
    """Two crossings in fourteen points, runs of five at most."""
    found = runs([1] * 5 + [-1] * 5 + [1] * 4, 0)
    assert found.longest <= found.longest_expected
    assert found.crossings == 2
    assert found.is_shift


def test_few_points_are_not_judged() -> None:
    """Nine on one side say nothing yet, nor does an empty row."""
    assert not runs([1] * (FEWEST_USEFUL - 1), 0).is_shift
    assert not runs([], 0).can_be_judged
    assert runs([1], 0).longest == 1


@pytest.mark.parametrize("n", range(2, 40))
def test_the_centile_agrees_with_counting_out(n: int) -> None:
    """The fewest crossings expected is the first count that 5 % reach."""
    found = runs([0, 1] * n, 0.5)
    m = 2 * n - 1
    upto = np.cumsum([comb(m, k) for k in range(m + 1)]) / 2**m
    assert found.fewest_expected == int(np.argmax(upto >= 0.05))


def test_luck_alone_cries_wolf_in_about_five_of_a_hundred_rows() -> None:
    """4000 rows of 24 points without a shift; 5 % is what was published."""
    rows = np.random.default_rng(20240601).integers(0, 2, size=(4000, 24))
    false = np.mean([runs(row, 0.5).is_shift for row in rows])
    assert 0.02 < false < 0.08


def test_a_frozen_median_cries_wolf_more_often() -> None:
    """Computed: 10, 14 and 16 of 100 rows of 12, 18 and 24 points without a shift.

    The median of twelve points is itself uncertain, and a row around its own median
    has fewer long runs than luck (under 3 of 100).
    """
    dice = np.random.default_rng(20240602)
    for points, most in ((12, 0.13), (24, 0.19)):
        frozen = np.median(dice.normal(size=(2000, 12)), axis=1)
        rows = dice.normal(size=(2000, points))
        false = np.mean(
            [runs(*pair).is_shift for pair in zip(rows, frozen, strict=True)]
        )
        assert 0.07 < false < most
        own = np.mean([runs(row, float(np.median(row))).is_shift for row in rows])
        assert own < 0.05


@given(st.lists(st.integers(-3, 3), max_size=60))
def test_points_on_the_centre_do_not_count(values: list[int]) -> None:
    """With or without them the runs are the same; so is the row read backwards."""
    found = runs(values, 0)
    assert found == runs([value for value in values if value], 0)
    assert found == runs(values[::-1], 0)
    assert found.longest <= found.useful
    assert found.crossings <= max(0, found.useful - 1)


def test_a_point_beside_the_centre_by_rounding_alone_lies_on_it() -> None:
    """0.1 + 0.2 is 0.3 here, as it is on the page."""
    assert runs([0.1 + 0.2] * 12, 0.3).useful == 0
