"""Typical change and effect sizes against published data, scipy and brute force."""

import itertools
import math
import statistics

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from outcomes.science.group.location import (
    EXACT_UP_TO,
    effect_size,
    hedges_factor,
    hodges_lehmann,
    quartiles,
    ranked_average,
    signed_rank_chances,
    standardised_response_mean,
    student_mean,
)
from tests.outcomes.group.d12 import BASELINE, FOLLOW_UP, GAIN

# Depression scores of nine patients, in the documentation of R's wilcox.test, after
# Hollander and Wolfe 1973: first minus second visit. Estimate and ends computed here.
DEPRESSION = [
    first - second
    for first, second in zip(
        [1.83, 0.50, 1.62, 2.48, 1.68, 1.88, 1.55, 3.06, 1.30],
        [0.878, 0.647, 0.598, 2.05, 1.06, 1.29, 1.06, 3.14, 1.29],
        strict=True,
    )
]
# Hours of extra sleep under two drugs, ten patients (Student 1908, as R's `sleep`).
SLEEP = [
    second - first
    for first, second in zip(
        [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0, 2],
        [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4],
        strict=True,
    )
]
points = st.integers(-400, 400).map(lambda quarter: quarter / 4)
gains = st.lists(points, min_size=1, max_size=40)


def test_hodges_lehmann_of_the_depression_data() -> None:
    """0.46 (0.010 to 0.786): computed; the data are published."""
    found = hodges_lehmann(DEPRESSION)
    assert found.value == pytest.approx(0.46)
    assert (found.low, found.high) == pytest.approx((0.010, 0.786))
    exact = stats.wilcoxon(DEPRESSION)
    greater = stats.wilcoxon(DEPRESSION, alternative="greater")
    assert (greater.statistic, greater.pvalue) == pytest.approx((40, 0.01953), abs=1e-5)
    assert exact.pvalue == pytest.approx(0.03906, abs=1e-5)


def test_hodges_lehmann_of_the_test_set() -> None:
    """Computed: 12.0 (7.0 to 16.0), the 14th of 78 averages, coverage 0.95752."""
    found = hodges_lehmann(GAIN)
    assert (found.value, found.low, found.high) == (12.0, 7.0, 16.0)
    assert found.coverage == pytest.approx(0.95752, abs=5e-6)
    tested = stats.wilcoxon(GAIN, method="exact")  # tied gains: approximate (computed)
    assert tested.statistic == 3
    assert tested.pvalue == pytest.approx(0.00244, abs=5e-6)


def test_mean_spread_and_quartiles_of_the_test_set() -> None:
    """Computed; the quartiles are those of linear interpolation."""
    mean = student_mean(GAIN)
    assert (mean.value, mean.sd) == pytest.approx((11.25, 6.7572), abs=5e-5)
    assert (mean.low, mean.high) == pytest.approx((6.957, 15.543), abs=5e-4)
    found = quartiles(GAIN)
    assert (found.lower, found.median, found.upper) == (7.75, 13.0, 16.0)
    assert statistics.quantiles(GAIN, method="exclusive")[0] == 7.25  # the other rule


def test_effect_sizes_of_the_test_set() -> None:
    """Computed; the two are named apart because they differ."""
    found = standardised_response_mean(GAIN)
    assert found.value == pytest.approx(1.6649, abs=5e-5)
    assert hedges_factor(11) == pytest.approx(0.9302, abs=5e-5)
    assert found.corrected == pytest.approx(1.5487, abs=5e-5)
    assert (found.low, found.high) == pytest.approx((0.7604, 2.5397), abs=6e-5)
    assert effect_size(GAIN, BASELINE) == pytest.approx(1.4808, abs=5e-5)
    assert student_mean(BASELINE).sd == pytest.approx(7.5973, abs=5e-5)
    r = np.corrcoef(BASELINE, FOLLOW_UP)[0, 1]
    assert r == pytest.approx(0.7767, abs=5e-5)


def test_the_gains_of_the_test_set_are_its_differences() -> None:
    """The rows of the set belong together."""
    assert [b - a for a, b in zip(BASELINE, FOLLOW_UP, strict=True)] == GAIN


def test_sleep_data() -> None:
    """Published data; results agree with R's documentation (from memory)."""
    mean = student_mean(SLEEP)
    assert (mean.value, mean.sd) == pytest.approx((1.58, 1.2300), abs=5e-5)
    assert (mean.low, mean.high) == pytest.approx((0.7001, 2.4599), abs=5e-5)
    found = standardised_response_mean(SLEEP)
    assert found.value == pytest.approx(1.2846, abs=5e-5)
    tested = stats.ttest_1samp(SLEEP, 0)
    assert (tested.statistic, tested.pvalue) == pytest.approx(
        (4.0621, 0.002833), abs=5e-5
    )
    assert found.value * math.sqrt(10) == pytest.approx(tested.statistic)


@pytest.mark.parametrize("n", range(1, 13))
def test_chances_of_rank_sums_by_trying_every_sign(n: int) -> None:
    """A second way to the same distribution: all 2^n patterns of sign."""
    sums = [
        sum(rank for rank, sign in enumerate(signs, 1) if sign)
        for signs in itertools.product((0, 1), repeat=n)
    ]
    expected = np.bincount(sums, minlength=n * (n + 1) // 2 + 1) / 2**n
    assert signed_rank_chances(n) == pytest.approx(expected)


def test_interval_holds_what_the_exact_test_does_not_reject() -> None:
    """Scipy's exact test at each candidate shift draws the same line."""
    rng = np.random.default_rng(7)
    values = rng.normal(8, 10, 15)
    found = hodges_lehmann(values)
    step = 1e-6
    for end, inside in ((found.low, step), (found.high, -step)):
        kept = stats.wilcoxon(values - end - inside, method="exact").pvalue
        refused = stats.wilcoxon(values - end + inside, method="exact").pvalue
        assert refused <= 0.05 < kept


@pytest.mark.parametrize(("n", "has_ends"), [(1, False), (5, False), (6, True)])
def test_five_gains_cannot_give_an_interval(n: int, *, has_ends: bool) -> None:
    """Of five, all ordered averages together cover 0.9375 only."""
    found = hodges_lehmann(list(range(n)))
    assert (found.low is not None) is has_ends
    if has_ends:
        assert (found.low, found.high) == (0, n - 1)
        assert found.coverage == 1 - 2 / 2**n


def test_exact_and_normal_meet() -> None:
    """Where the normal form takes over, the ends move by a rank at most."""
    rng = np.random.default_rng(11)
    values = rng.normal(10, 8, EXACT_UP_TO + 1)
    exact, normal = hodges_lehmann(values[:-1]), hodges_lehmann(values)
    assert exact.coverage == pytest.approx(normal.coverage, abs=5e-4)
    assert exact.coverage >= 0.95
    assert (exact.low, exact.high) == pytest.approx((normal.low, normal.high), abs=0.1)


@given(gains)
def test_typical_change_moves_with_the_gains(values: list[float]) -> None:
    """A shift shifts it, a turn of sign turns it, its ends enclose it."""
    found = hodges_lehmann(values)
    shifted = hodges_lehmann([v + 3 for v in values])
    turned = hodges_lehmann([-v for v in values])
    assert shifted.value == pytest.approx(found.value + 3)
    assert turned.value == pytest.approx(-found.value)
    assert min(values) <= found.value <= max(values)
    if found.low is not None:
        assert found.low <= found.value <= found.high
        assert found.coverage >= 0.95
        assert (turned.low, turned.high) == pytest.approx((-found.high, -found.low))


@given(gains)
def test_typical_change_is_the_median_of_all_averages(values: list[float]) -> None:
    """Written out with the standard library."""
    averages = [
        (a + b) / 2 for a, b in itertools.combinations_with_replacement(values, 2)
    ]
    assert hodges_lehmann(values).value == pytest.approx(statistics.median(averages))


@given(st.lists(points, min_size=2, max_size=30))
def test_the_standard_library_has_the_same_quartile_rule(values: list[float]) -> None:
    """`inclusive` there is linear interpolation here."""
    found = quartiles(values)
    expected = statistics.quantiles(values, method="inclusive")
    assert [found.lower, found.median, found.upper] == pytest.approx(expected)


@given(st.lists(points, min_size=2, max_size=30))
def test_scipy_has_the_same_interval_of_the_mean(values: list[float]) -> None:
    """A second implementation, where there is spread."""
    found = student_mean(values)
    if found.sd > 0:
        expected = stats.ttest_1samp(values, 0).confidence_interval()
        assert (found.low, found.high) == pytest.approx(tuple(expected))
    assert found.low <= found.value <= found.high


@given(st.lists(points, min_size=3, max_size=20))
def test_a_response_mean_lies_between_its_ends(values: list[float]) -> None:
    """Whatever the gains, so long as they differ."""
    found = standardised_response_mean(values)
    if len(set(values)) == 1:
        assert found is None
    else:
        assert found.low < found.value < found.high
        assert abs(found.corrected) <= abs(found.value)
        t, df = found.value * math.sqrt(len(values)), len(values) - 1
        if abs(t) < 30:
            shifts = np.array([found.low, found.high]) * math.sqrt(len(values))
            chances = stats.nct.cdf(t, df, shifts)
            assert chances == pytest.approx([0.975, 0.025], abs=1e-5)


def test_nothing_in_nothing_out() -> None:
    """No case, one case, and cases that are all alike."""
    assert hodges_lehmann([]) is None
    assert quartiles([]) is None
    assert student_mean([]) is None
    assert standardised_response_mean([]) is None
    assert effect_size([], []) is None
    assert student_mean([4.0]).low is None
    assert standardised_response_mean([4.0]) is None
    assert standardised_response_mean([0.1] * 3) is None
    assert effect_size([3.0, 4.0], [50.0, 50.0]) is None


@given(gains, st.data())
def test_a_ranked_average_is_found_without_listing_all(
    values: list[float], data: st.DataObject
) -> None:
    """Every rank, against the whole sorted list."""
    averages = sorted(
        (a + b) / 2 for a, b in itertools.combinations_with_replacement(values, 2)
    )
    rank = data.draw(st.integers(1, len(averages)))
    assert ranked_average(np.sort(values), rank) == averages[rank - 1]


def test_twenty_thousand_gains_need_no_list_of_pairs() -> None:
    """Two hundred million pairs would not fit; the answer is that of symmetry."""
    values = np.arange(-10_000, 10_001) / 4
    found = hodges_lehmann(values)
    assert found.value == 0
    assert found.low == -found.high < 0
