"""Funnel limits, against worked values, against counting out and against scipy."""

from math import comb

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from outcomes.science.group.funnel import (
    INNER,
    OUTER,
    Count,
    Lies,
    chance_of_any_outside,
    lies,
    limits,
    pooled_rate,
    tails,
)

# Levels: Spiegelhalter 2005, Stat Med 24:1185, confirmed. The interpolation is from
# memory; the limits are computed with it, at a target of 0.6.
LIMITS = [
    (8, 0.1749, 0.8636, 0.0055, 0.9926),
    (10, 0.2299, 0.8530, 0.0569, 0.9835),
    (12, 0.2693, 0.8263, 0.1061, 0.9617),
    (20, 0.3556, 0.7871, 0.2264, 0.8923),
    (40, 0.4325, 0.7380, 0.3432, 0.8181),
    (100, 0.4980, 0.6899, 0.4414, 0.7430),
]
# A constructed clinic of six: computed values.
CLINIC = [
    Count(14, 20),
    Count(9, 20),
    Count(5, 12),
    Count(22, 30),
    Count(3, 8),
    Count(27, 40),
]
TARGETS = st.floats(0.02, 0.98)
SIZES = st.integers(1, 400)


@pytest.mark.parametrize(("n", "low", "high", "outer_low", "outer_high"), LIMITS)
def test_limits_match_the_worked_table(
    n: int, low: float, high: float, outer_low: float, outer_high: float
) -> None:
    """Both levels agree to the four decimals given."""
    inner, outer = (limits(0.6, [n], coverage=level) for level in (INNER, OUTER))
    assert inner.low[0] == pytest.approx(low, abs=6e-5)
    assert inner.high[0] == pytest.approx(high, abs=6e-5)
    assert outer.low[0] == pytest.approx(outer_low, abs=6e-5)
    assert outer.high[0] == pytest.approx(outer_high, abs=6e-5)


def test_a_limit_below_nothing_is_cut_at_nothing() -> None:
    """Five cases, 99.8 %: the interpolation gives -0.1805 (computed)."""
    tail = (1 - OUTER) / 2
    first = 0.4**5  # F(0) is above the tail already, so r = 0
    assert -(first - tail) / first / 5 == pytest.approx(-0.1805, abs=6e-5)
    assert limits(0.6, [5], coverage=OUTER).low[0] == 0


def test_the_normal_approximation_has_the_wrong_shape_for_ten() -> None:
    """It gives 0.2964 to 0.9036 and more than everybody at 99.8 % (computed)."""
    wide = stats.norm.ppf(0.975) * (0.6 * 0.4 / 10) ** 0.5
    assert 0.6 - wide == pytest.approx(0.2964, abs=6e-5)
    assert limits(0.6, [10], coverage=INNER).low[0] < 0.6 - wide
    assert 0.6 + stats.norm.ppf(0.999) * (0.6 * 0.4 / 10) ** 0.5 > 1


def test_the_worked_clinic_lies_inside() -> None:
    """Pooled 80 of 130; each z and the joint test as computed; nobody outside."""
    target = pooled_rate(CLINIC)
    assert target == pytest.approx(0.61538, abs=6e-6)
    z = [
        (one.share - target) / (target * (1 - target) / one.of) ** 0.5 for one in CLINIC
    ]
    expected = [0.778, -1.520, -1.415, 1.328, -1.398, 0.775]
    assert z == pytest.approx(expected, abs=6e-4)
    joint = stats.chi2_contingency([[c.reached, c.of - c.reached] for c in CLINIC])
    assert (joint.statistic, joint.pvalue) == pytest.approx((9.235, 0.1000), abs=6e-4)
    assert {lies(count, target) for count in CLINIC} == {Lies.INSIDE}
    around_b = limits(target, [20], coverage=INNER)
    assert around_b.low[0] == pytest.approx(0.369, abs=6e-4)
    assert around_b.high[0] == pytest.approx(0.797, abs=6e-4)


@pytest.mark.parametrize(
    ("units", "inner", "outer"),
    [(5, 0.2262, 0.0100), (10, 0.4013, 0.0198), (20, 0.6415, 0.0392)],
)
def test_the_luck_of_many_units(units: int, inner: float, outer: float) -> None:
    """How likely anybody of 5, 10 or 20 lies outside by luck (computed)."""
    for level, expected in ((INNER, inner), (OUTER, outer)):
        found = chance_of_any_outside(units, coverage=level)
        assert found == pytest.approx(expected, abs=6e-5)
    assert chance_of_any_outside(0, coverage=INNER) == 0


def test_nobody_counted_has_no_rate() -> None:
    """0 of 0 is no share."""
    assert pooled_rate([]) is None
    assert pooled_rate([Count(0, 0)]) is None
    with pytest.raises(ValueError, match="not a share"):
        Count(3, 2)


@given(st.integers(1, 60), TARGETS, st.data())
def test_tails_agree_with_counting_out_and_with_the_exact_test(
    n: int, target: float, data: st.DataObject
) -> None:
    """The tails are sums of binomial terms, and those of scipy's exact test."""
    reached = data.draw(st.integers(0, n))
    found = tails(Count(reached, n), target)
    term = [comb(n, k) * target**k * (1 - target) ** (n - k) for k in range(n + 1)]
    assert found.low == pytest.approx(sum(term[: reached + 1]), abs=1e-9)
    assert found.high == pytest.approx(sum(term[reached:]), abs=1e-9)
    for side, value in (("less", found.low), ("greater", found.high)):
        exact = stats.binomtest(reached, n, target, alternative=side)
        assert exact.pvalue == pytest.approx(value, abs=1e-9)


@given(TARGETS, SIZES)
def test_limits_hold_the_target_and_each_other(target: float, n: int) -> None:
    """0 <= outer <= inner <= target <= inner <= outer <= 1."""
    inner, outer = (limits(target, [n], coverage=level) for level in (INNER, OUTER))
    order = [0, outer.low[0], inner.low[0], target, inner.high[0], outer.high[0], 1]
    assert order == sorted(order)


@given(TARGETS, st.integers(10, 200))
def test_limits_narrow_with_more_cases(target: float, n: int) -> None:
    """Three times the cases, narrower limits; neighbours may wobble by a count."""
    found = limits(target, [n, 3 * n], coverage=INNER)
    width = found.high - found.low
    assert width[1] < width[0]


@given(TARGETS, st.integers(1, 200))
def test_luck_alone_is_outside_no_more_often_than_the_level_says(
    target: float, n: int
) -> None:
    """Summed over every count that could occur, 5 % at most are beyond 95 %."""
    chance = stats.binom.pmf(np.arange(n + 1), n, target)
    where = [lies(Count(k, n), target) for k in range(n + 1)]
    beyond = np.array([place != Lies.INSIDE for place in where])
    far = np.array([place == Lies.BEYOND_OUTER for place in where])
    assert chance[beyond].sum() <= 1 - INNER + 1e-12
    assert chance[far].sum() <= 1 - OUTER + 1e-12


def test_the_drawn_upper_line_alone_would_accuse_luck_too_often() -> None:
    """Why the tail decides: 8.3 % of units of twelve lie above the line by luck."""
    line = limits(0.6, [12], coverage=INNER).high[0]
    assert stats.binom.sf(np.floor(line * 12), 12, 0.6) == pytest.approx(0.0834, 1e-3)
    assert lies(Count(10, 12), 0.6) == Lies.INSIDE  # 0.833 is above 0.8263
    assert lies(Count(12, 12), 0.6) == Lies.BEYOND_INNER


@pytest.mark.parametrize("target", [0.0, 1.0])
def test_all_or_none_reached_leaves_everybody_inside(target: float) -> None:
    """Where everybody or nobody reached it there is nothing to tell apart."""
    of = 12
    assert lies(Count(round(target * of), of), target) == Lies.INSIDE
    found = limits(target, [of], coverage=INNER)
    assert found.low[0] <= target <= found.high[0]
