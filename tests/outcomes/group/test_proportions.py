"""Proportions against published intervals, scipy and their own properties."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from outcomes.science.group.proportions import clopper_pearson, newcombe, wilson
from tests.outcomes.group.d12 import GAIN

# count, of, Wilson, exact. 81 of 263: Newcombe 1998, Stat Med 17:857 (from memory,
# computed the same); the others computed, constructed here.
INTERVALS = [
    (0, 5, (0, 0.4345), (0, 0.5218)),
    (1, 1, (0.2065, 1), (0.0250, 1)),
    (3, 8, (0.1368, 0.6943), (0.0852, 0.7551)),
    (14, 20, (0.4810, 0.8545), (0.4572, 0.8811)),
    (0, 20, (0, 0.1611), (0, 0.1684)),
    (20, 20, (0.8389, 1), (0.8316, 1)),
    (3, 4, (0.301, 0.954), None),
    (81, 263, (0.2553, 0.3662), None),
    (40, 60, (0.5406, 0.7727), None),
]
shares = st.integers(1, 400).flatmap(
    lambda of: st.tuples(st.integers(0, of), st.just(of))
)


def ends(found: object) -> tuple[float, float]:
    """Return both ends of what was found."""
    return found.low, found.high


@pytest.mark.parametrize(("count", "of", "score", "exact"), INTERVALS)
def test_intervals_match_what_was_published_or_computed(
    count: int,
    of: int,
    score: tuple[float, float],
    exact: tuple[float, float] | None,
) -> None:
    """Both ends agree to the decimals given."""
    decimals = 6e-4 if of == 4 else 6e-5
    assert ends(wilson(count, of)) == pytest.approx(score, abs=decimals)
    if exact:
        assert ends(clopper_pearson(count, of)) == pytest.approx(exact, abs=6e-5)


@pytest.mark.parametrize(
    ("least", "count", "low", "high"),
    [
        (8, 9, 0.4677, 0.9111),
        (10, 8, 0.3906, 0.8619),
        (11, 8, 0.3906, 0.8619),
        (13, 6, 0.2538, 0.7462),
    ],
)
def test_responders_of_the_test_set(
    least: int, count: int, low: float, high: float
) -> None:
    """Computed; the least gain that counts moves the share."""
    found = wilson(sum(gain >= least for gain in GAIN), len(GAIN))
    assert (found.count, found.of) == (count, 12)
    assert ends(found) == pytest.approx((low, high), abs=6e-5)


@pytest.mark.parametrize(
    ("cells", "low", "high"),
    [
        ((56, 70, 48, 80), 0.0524, 0.3339),  # Newcombe 1998, Stat Med 17:873 (memory)
        ((14, 20, 9, 20), -0.0520, 0.4963),  # computed, constructed here
    ],
)
def test_differences_match_what_was_published_or_computed(
    cells: tuple[int, int, int, int], low: float, high: float
) -> None:
    """Newcombe's method 10 without continuity correction."""
    found = newcombe(*cells)
    assert ends(found) == pytest.approx((low, high), abs=6e-5)
    assert found.value == pytest.approx(cells[0] / cells[1] - cells[2] / cells[3])


def test_none_of_none_is_no_data() -> None:
    """Not 0 %, and no difference from it either."""
    assert wilson(0, 0) is None
    assert clopper_pearson(0, 0) is None
    assert newcombe(0, 0, 3, 4) is None
    assert newcombe(3, 4, 0, 0) is None


@pytest.mark.parametrize(("count", "of"), [(-1, 4), (5, 4), (0, -1)])
def test_what_is_no_share_is_refused(count: int, of: int) -> None:
    """A count lies between none and all."""
    with pytest.raises(ValueError, match="is not a share"):
        wilson(count, of)


@given(shares)
def test_scipy_agrees(share: tuple[int, int]) -> None:
    """A second implementation gives both intervals."""
    count, of = share
    other = stats.binomtest(count, of)
    for found, method in ((wilson, "wilson"), (clopper_pearson, "exact")):
        expected = other.proportion_ci(method=method)
        assert ends(found(count, of)) == pytest.approx(tuple(expected), abs=1e-9)


@given(shares)
def test_wilson_is_its_formula_and_stays_within_what_can_be(
    share: tuple[int, int],
) -> None:
    """The closed form, written out; the share lies inside, the ends in 0 to 1."""
    count, of = share
    found, z, p = wilson(count, of), stats.norm.ppf(0.975), count / of
    centre = (p + z * z / (2 * of)) / (1 + z * z / of)
    half = math.sqrt(p * (1 - p) / of + z * z / (4 * of * of)) * z / (1 + z * z / of)
    assert ends(found) == pytest.approx((centre - half, centre + half), abs=1e-9)
    assert 0 <= found.low <= found.value <= found.high <= 1


@given(shares)
def test_failures_mirror_successes(share: tuple[int, int]) -> None:
    """Counting the others turns the interval around."""
    count, of = share
    there, back = wilson(count, of), wilson(of - count, of)
    assert (1 - there.high, 1 - there.low) == pytest.approx(ends(back), abs=1e-9)


@given(shares, shares)
def test_a_difference_is_its_formula_and_turns_around(
    one: tuple[int, int], other: tuple[int, int]
) -> None:
    """Newcombe's squares written out; the groups exchanged change the sign alone."""
    found, back = newcombe(*one, *other), newcombe(*other, *one)
    a, b = wilson(*one), wilson(*other)
    low = found.value - math.hypot(a.value - a.low, b.high - b.value)
    high = found.value + math.hypot(a.high - a.value, b.value - b.low)
    assert ends(found) == pytest.approx((max(low, -1), min(high, 1)), abs=1e-9)
    assert ends(back) == pytest.approx((-found.high, -found.low), abs=1e-9)
    assert -1 <= found.low <= found.value <= found.high <= 1
