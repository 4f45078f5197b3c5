"""Control limits, against a handbook's data, worked sets and second arithmetic."""

from math import isnan, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from outcomes.science.group.control import (
    HANDBOOK,
    LARGE_MONTH,
    WORKSHOP,
    share_limits,
    spread_between,
    value_limits,
    widening,
    z_scores,
)
from outcomes.science.group.funnel import Count, pooled_rate, tails

# NIST/SEMATECH e-Handbook of Statistical Methods, flow rate data; confirmed.
FLOW = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
# NIST/SEMATECH e-Handbook, defects on 30 wafers of 50 chips; data and mean confirmed.
WAFERS = [
    *(12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22),
    *(8, 10, 5, 13, 11, 20, 18, 24, 15, 9, 12, 7, 13, 9, 6),
]
# A constructed clinic; its results are computed.
OPENED = [12, 10, 14, 11, 13, 9, 12, 15, 10, 12, 13, 11]
SEEN = [12, 15, 10, 14, 18, 11, 13, 16, 12, 15, 14, 17]
REACHED = [7, 9, 5, 8, 12, 3, 8, 10, 8, 9, 9, 16]
# A constructed set with more spread than chance gives; computed.
LARGE_OF = [820, 790, 905, 860, 780, 940, 870, 815, 900, 850, 830, 880]
LARGE_REACHED = [520, 455, 600, 498, 430, 640, 510, 545, 531, 470, 560, 525]

COUNTS = st.lists(
    st.integers(1, 300).flatmap(lambda n: st.integers(0, n).map(lambda k: Count(k, n))),
    min_size=2,
    max_size=30,
)


def counted(reached: list[int], of: list[int]) -> list[Count]:
    """Pair the two rows of a table."""
    return [Count(*pair) for pair in zip(reached, of, strict=True)]


CLINIC = counted(REACHED, SEEN)
LARGE = counted(LARGE_REACHED, LARGE_OF)


def outside(counts: list[Count], centre: float, *, widened: float = 1) -> list[int]:
    """Return which months, counted from 1, lie outside."""
    found = share_limits(centre, [count.of for count in counts], widened=widened)
    return [
        place
        for place, count in enumerate(counts, start=1)
        if not found.low[place - 1] <= count.share <= found.high[place - 1]
    ]


def test_the_flow_data_match_the_handbook() -> None:
    """Mean 50.81, mean moving range 1.8778, limits 45.8159 and 55.8041 (confirmed)."""
    found = value_limits(FLOW, rounding=HANDBOOK)
    assert found.centre == pytest.approx(50.81)
    assert found.mean_range == pytest.approx(1.8778, abs=5e-5)
    assert found.low == pytest.approx(45.8159, abs=1e-4)
    assert found.high == pytest.approx(55.8041, abs=1e-4)


def test_the_two_roundings_differ_and_are_named() -> None:
    """Their limits differ in the third decimal on the flow data (computed)."""
    found = value_limits(FLOW)
    assert found.low == pytest.approx(45.8151, abs=1e-4)
    assert (WORKSHOP.name, HANDBOOK.name) == ("2.66 and 3.267", "3/1.128 and 3.267")


def test_the_roundings_are_those_of_the_normal_distribution() -> None:
    """d2 = 2/sqrt(pi), D4 = 1 + 3 d3/d2 with d3 = sqrt(2 - 4/pi): 2.6587, 3.2665."""
    d2 = 2 / sqrt(np.pi)
    assert 3 / d2 == pytest.approx(2.6587, abs=5e-5)
    d4 = 1 + 3 * sqrt(2 - 4 / np.pi) / d2
    assert d4 == pytest.approx(3.2665, abs=5e-5)
    assert WORKSHOP.of_values == pytest.approx(3 / d2, abs=2e-3)
    assert WORKSHOP.of_ranges == pytest.approx(d4, abs=1e-3)


def test_opened_cases_of_a_year_match_the_worked_set() -> None:
    """Mean 11.8333, mean range 2.81818, limits 4.3370 to 19.3297, 9.207 (computed)."""
    found = value_limits(OPENED)
    assert found.centre == pytest.approx(11.8333, abs=5e-5)
    assert found.mean_range == pytest.approx(2.81818, abs=5e-6)
    assert (found.low, found.high) == pytest.approx((4.3370, 19.3297), abs=5e-5)
    assert found.range_high == pytest.approx(9.207, abs=5e-4)
    assert found.points == 12


def test_one_value_has_no_moving_range() -> None:
    """Nor has none."""
    with pytest.raises(ValueError, match="two values"):
        value_limits([3.0])


def test_the_wafers_match_the_handbook() -> None:
    """Mean 0.23133 (confirmed), limits 0.0524 to 0.4102, 15 and 23 out (computed)."""
    wafers = [Count(count, 50) for count in WAFERS]
    centre = pooled_rate(wafers)
    assert centre == pytest.approx(0.23133, abs=5e-6)
    found = share_limits(centre, [50])
    assert found.low[0] == pytest.approx(0.0524, abs=5e-5)
    assert found.high[0] == pytest.approx(0.4102, abs=6e-5)
    assert outside(wafers, centre) == [15, 23]


def test_the_months_of_a_small_clinic_match_the_worked_set() -> None:
    """104 of 167, z of months 6 and 12, none outside (computed)."""
    centre = pooled_rate(CLINIC)
    assert centre == pytest.approx(104 / 167)
    assert centre == pytest.approx(0.62275, abs=6e-6)
    z = z_scores(CLINIC, centre)
    assert (z[5], z[11]) == pytest.approx((-2.395, 2.709), abs=5e-4)
    assert outside(CLINIC, centre) == []
    assert share_limits(centre, [10]).high[0] == 1
    assert tails(CLINIC[11], centre).high == pytest.approx(0.0036, abs=5e-5)


def test_the_moving_range_is_used_and_not_the_sd_of_z() -> None:
    """0.8687 on the small clinic, where the SD of z is 1.1381 (computed)."""
    centre = pooled_rate(CLINIC)
    assert spread_between(CLINIC, centre) == pytest.approx(0.8687, abs=5e-5)
    assert z_scores(CLINIC, centre).std(ddof=1) == pytest.approx(1.1381, abs=5e-5)


def test_an_overdispersed_set_matches_the_worked_one() -> None:
    """Centre .613672, sigma_z 4.2382; 6 months out on p, none on p' (computed)."""
    centre = pooled_rate(LARGE)
    assert centre == pytest.approx(0.613672, abs=5e-7)
    sigma = spread_between(LARGE, centre)
    assert sigma == pytest.approx(4.2382, abs=5e-5)
    assert widening(LARGE, centre) == sigma
    assert len(outside(LARGE, centre)) == 6
    assert outside(LARGE, centre, widened=sigma) == []


def test_small_months_are_never_widened_nor_narrowed() -> None:
    """A spread below 1 does not narrow, and small months keep the p-chart."""
    assert widening(CLINIC, pooled_rate(CLINIC)) == 1
    alike = [Count(LARGE_MONTH // 2, LARGE_MONTH)] * 12
    assert spread_between(alike, 0.5) == 0
    assert widening(alike, 0.5) == 1
    one_small = [*LARGE, Count(60, LARGE_MONTH - 1)]
    assert widening(one_small, pooled_rate(one_small)) == 1


@pytest.mark.parametrize("centre", [0.0, 1.0])
def test_all_or_none_leaves_no_spread(centre: float) -> None:
    """Nothing is divided by nothing."""
    counts = [Count(round(12 * centre), 12)] * 3
    assert z_scores(counts, centre).tolist() == [0, 0, 0]
    assert outside(counts, centre) == []
    assert widening(counts, centre) == 1
    assert isnan(spread_between(counts[:1], centre))


@given(COUNTS)
def test_z_agrees_with_the_test_of_homogeneity(counts: list[Count]) -> None:
    """The squares of z add up to scipy's chi-squared of the same table."""
    centre = pooled_rate(counts)
    if not 0 < centre < 1:
        return
    table = [[count.reached, count.of - count.reached] for count in counts]
    joint = stats.chi2_contingency(table, correction=False)
    assert (z_scores(counts, centre) ** 2).sum() == pytest.approx(joint.statistic)


@given(st.floats(0.01, 0.99), st.integers(1, 500), st.floats(1, 5))
def test_share_limits_hold_the_centre_and_widen(
    centre: float, n: int, widened: float
) -> None:
    """More cases narrow, Laney's factor widens, the centre stays inside."""
    plain, more = share_limits(centre, [n]), share_limits(centre, [4 * n])
    wide = share_limits(centre, [n], widened=widened)
    order = [0, wide.low[0], plain.low[0], more.low[0], centre]
    assert order == sorted(order)
    order = [centre, more.high[0], plain.high[0], wide.high[0], 1]
    assert order == sorted(order)


@given(COUNTS)
def test_nothing_ever_narrows(counts: list[Count]) -> None:
    """The factor is at least 1."""
    assert widening(counts, pooled_rate(counts)) >= 1


@given(st.lists(st.integers(0, 60), min_size=2, max_size=40), st.integers(-5, 50))
def test_value_limits_move_with_the_values(values: list[int], by: int) -> None:
    """Shifting every value shifts the limits and leaves the ranges."""
    found = value_limits(values)
    moved = value_limits([value + by for value in values])
    assert moved.low == pytest.approx(found.low + by)
    assert moved.high == pytest.approx(found.high + by)
    assert moved.mean_range == pytest.approx(found.mean_range)
    assert found.low <= found.centre <= found.high
