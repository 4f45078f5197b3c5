"""The pull to the mean against Barnett's formula, simulation and common sense."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from outcomes.science.group.regression_to_mean import expected_retest, expected_shift


# Formula confirmed from the authors' code page; values computed in the project's
# statistics reference, 2.6.
@pytest.mark.parametrize(
    ("sd", "mean", "cut", "reliability", "times", "shift"),
    [
        (15, 60, 40, 0.5, 1, 13.486),
        (15, 60, 40, 0.9, 1, 2.697),
        (12, 70, 60, 0.83, 1, 2.842),  # AKPS
        (12, 70, 70, 0.5, 1, 4.787),
        (12, 70, 70, 0.5, 2, 2.764),  # two baselines averaged
    ],
)
def test_expected_shift_as_computed(
    sd: float, mean: float, cut: float, reliability: float, times: int, shift: float
) -> None:
    """Barnett 2005: points gained by those below a cut, with no true change."""
    found = expected_shift(
        sd=sd, mean=mean, cut=cut, reliability=reliability, times=times
    )
    assert found == pytest.approx(shift, abs=5e-4)


def test_expected_retest_of_one_as_computed() -> None:
    """One patient at 50 where the mean is 70, reliability .83 (computed, 2.6)."""
    assert expected_retest(50, mean=70, reliability=0.83) == pytest.approx(53.4)


def test_a_simulated_retest_shifts_as_expected() -> None:
    """A second way to the same number: true scores plus error, twice, no change."""
    dice = np.random.default_rng(20240607)
    true = dice.normal(70, 12 * np.sqrt(0.83), 400_000)
    error = 12 * np.sqrt(0.17)
    first, second = (true + dice.normal(0, error, len(true)) for _ in range(2))
    chosen = first < 60
    shift = (second - first)[chosen].mean()
    expected = expected_shift(sd=12, mean=70, cut=60, reliability=0.83)
    assert shift == pytest.approx(expected, abs=0.05)


def test_nothing_shifts_without_error_or_without_spread() -> None:
    """A perfect measure has no pull, and nor have people who are all alike."""
    assert expected_shift(sd=12, mean=70, cut=60, reliability=1) == 0
    assert expected_shift(sd=0, mean=70, cut=60, reliability=0.5) == 0
    assert expected_retest(50, mean=70, reliability=1) == 50


def test_impossible_numbers_are_refused() -> None:
    """A reliability is a share."""
    with pytest.raises(ValueError, match="between 0 and 1"):
        expected_shift(sd=12, mean=70, cut=60, reliability=1.2)
    with pytest.raises(ValueError, match="At least one"):
        expected_shift(sd=12, mean=70, cut=60, reliability=0.5, times=0)


@given(
    st.floats(0.5, 40),
    st.floats(-60, 60),
    st.floats(0.01, 0.99),
    st.integers(1, 5),
)
def test_more_measurements_or_a_later_cut_pull_less(
    sd: float, cut: float, reliability: float, times: int
) -> None:
    """Averaging helps, and so does choosing less extremely."""

    def shift(cut: float, times: int) -> float:
        return expected_shift(
            sd=sd, mean=0, cut=cut, reliability=reliability, times=times
        )

    assert shift(cut, times) >= 0
    assert shift(cut + 1, times) <= shift(cut, times) + 1e-9
    if cut >= 0:
        assert shift(cut, times + 1) <= shift(cut, times) + 1e-9
