"""What the lost may hide, against worked numbers and a second implementation."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.meta_analysis import effectsize_smd

from outcomes.science.group.lost import (
    Summary,
    bounds,
    pooled_difference,
    rate_if_lost_did,
    simple_difference,
)

# Computed, constructed here: of 60 opened, 40 were measured again and 26 responded.
MEASURED, LOST = Summary(62, 11, 40), Summary(56, 12, 20)
summaries = st.builds(Summary, st.floats(0, 100), st.floats(1, 30), st.integers(2, 300))
counts = st.tuples(st.integers(0, 50), st.integers(0, 50), st.integers(0, 50))


def test_difference_at_the_start() -> None:
    """Computed: 0.5292 with the pooled deviation 11.337, 0.5212 with the simple."""
    assert pooled_difference(MEASURED, LOST) == pytest.approx(0.5292, abs=5e-5)
    assert 6 / pooled_difference(MEASURED, LOST) == pytest.approx(11.337, abs=5e-4)
    assert simple_difference(MEASURED, LOST) == pytest.approx(0.5212, abs=5e-5)


def test_bounds_on_the_rate() -> None:
    """Computed: 0.650 of the measured, between 0.4333 and 0.7667 of all."""
    found = bounds(26, 40, 20)
    for share, value, low, high in (
        (found.measured, 0.650, 0.4951, 0.7787),
        (found.worst, 0.4333, 0.3157, 0.5590),
        (found.best, 0.7667, 0.6456, 0.8556),
    ):
        assert (share.value, share.low, share.high) == pytest.approx(
            (value, low, high), abs=6e-5
        )
    assert rate_if_lost_did(26, 40, 20, times=0.5) == pytest.approx(0.5417, abs=5e-5)


@given(summaries, summaries)
def test_statsmodels_agrees(one: Summary, other: Summary) -> None:
    """Its difference carries the correction for small groups, taken off here."""
    corrected, _ = effectsize_smd(
        one.mean, one.sd, one.n, other.mean, other.sd, other.n
    )
    total = one.n + other.n
    plain = corrected / (1 - 3 / (4 * total - 9))
    assert pooled_difference(one, other) == pytest.approx(plain)


@given(summaries, summaries)
def test_equal_groups_make_both_forms_one(one: Summary, other: Summary) -> None:
    """They differ by the weight of a group's size alone; exchanged, the sign turns."""
    same = Summary(other.mean, other.sd, one.n)
    assert pooled_difference(one, same) == pytest.approx(simple_difference(one, same))
    turned = simple_difference(other, one)
    assert turned == pytest.approx(-simple_difference(one, other))


@given(counts)
def test_whatever_became_of_the_lost_lies_between_the_bounds(
    numbers: tuple[int, int, int],
) -> None:
    """Every number of responders among the lost, tried one by one."""
    responders, others, lost = numbers
    measured = responders + others
    found = bounds(responders, measured, lost)
    if not measured + lost:
        assert found is None
        return
    rates = [(responders + k) / (measured + lost) for k in range(lost + 1)]
    assert min(rates) == pytest.approx(found.worst.value)
    assert max(rates) == pytest.approx(found.best.value)
    if measured:
        assert found.worst.value <= found.measured.value <= found.best.value
        same = rate_if_lost_did(responders, measured, lost, times=1)
        assert same == pytest.approx(found.measured.value)
    else:
        assert found.measured is None
        assert rate_if_lost_did(responders, measured, lost, times=1) is None


def test_a_summary_skips_what_is_unknown() -> None:
    """Unknown values are not zero; a single case has no spread."""
    found = Summary.of([50, math.nan, 60])
    assert (found.mean, found.n) == (55, 2)
    assert found.sd == pytest.approx(math.sqrt(50))
    assert Summary.of([50.0]) == Summary(50, None, 1)
    assert Summary.of([]) is None
    assert Summary.of([math.nan]) is None


def test_no_difference_without_spread() -> None:
    """One case a side, nobody, or everybody alike: not a number to show."""
    alike = Summary(50, 0, 5)
    for one, other in ((None, LOST), (Summary(50, None, 1), LOST), (alike, alike)):
        assert pooled_difference(one, other) is None
        assert simple_difference(one, other) is None


def test_scores_that_are_all_alike_have_no_spread_by_rounding() -> None:
    """A mean of equal tenths is a hair off them: no enormous difference from that."""
    one, other = Summary.of([0.1] * 3), Summary.of([0.7] * 10)
    assert simple_difference(one, other) is None
    assert pooled_difference(one, other) is None
