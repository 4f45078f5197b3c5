"""Adjusted change against certified regressions and the project's worked set."""

import json

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.stats import linregress
from statsmodels.datasets import longley

from outcomes.science.group.adjusted import (
    BASELINE,
    CONSTANT,
    DURATION,
    Model,
    NoSpread,
    TooFew,
    columns_of,
    compare,
    coupled,
    fit,
    least_squares,
    oldham,
)

# D12, twelve invented patients on the AKPS (statistics reference 2; computed).
BASE = np.array([62, 55, 70, 48, 66, 59, 73, 51, 64, 57, 68, 60], float)
AFTER = np.array([78, 63, 84, 60, 65, 77, 85, 50, 80, 72, 75, 79], float)
MONTHS = np.array([6, 24, 3, 36, 12, 8, 4, 48, 10, 18, 60, 9], float)
WHO = np.array(list("AABBAABBCCCC"))


def d12() -> Model:
    """Return the model of the worked set, which is too small for real use."""
    return fit(AFTER, BASE, MONTHS, per_coefficient=4)


def test_the_worked_set_as_computed() -> None:
    """Coefficients, errors, R2 and residual SD of D12 (computed, 2.6)."""
    model = d12()
    assert [term.name for term in model.terms] == [CONSTANT, BASELINE, DURATION]
    found = [term.estimate for term in model.terms]
    assert found == pytest.approx([42.9825, 0.69769, -3.56439], abs=5e-5)
    errors = [term.se for term in model.terms]
    assert errors == pytest.approx([22.659, 0.3004, 1.6472], abs=5e-4)
    assert model.r2 == pytest.approx(0.7390, abs=5e-5)
    assert model.residual_sd == pytest.approx(6.0269, abs=5e-5)
    assert model.n == 12


def test_the_change_form_differs_by_one_in_one_slope() -> None:
    """-0.30231 for the baseline, all else the same, R2 .3491 (computed, 2.6)."""
    columns = columns_of(BASE, MONTHS)
    model = least_squares(AFTER - BASE, columns, per_coefficient=4)
    found = [term.estimate for term in model.terms]
    assert found == pytest.approx([42.9825, -0.30231, -3.56439], abs=5e-5)
    assert model.r2 == pytest.approx(0.3491, abs=5e-5)


def test_the_baseline_alone_as_computed() -> None:
    """5.6941 + 1.09096 x base, R2 .6032 (computed, 2.6); scipy says the same."""
    model = least_squares(AFTER, {BASELINE: BASE}, per_coefficient=6)
    found = [term.estimate for term in model.terms]
    assert found == pytest.approx([5.6941, 1.09096], abs=5e-5)
    assert model.r2 == pytest.approx(0.6032, abs=5e-5)
    other = linregress(BASE, AFTER)
    assert found == pytest.approx([other.intercept, other.slope])
    errors = [term.se for term in model.terms]
    assert errors == pytest.approx([other.intercept_stderr, other.stderr])


def test_a_prediction_as_computed() -> None:
    """Base 60, 12 months: 72.066, mean 67.97 to 76.16, one 57.83 to 86.30 (2.6)."""
    model, columns = d12(), columns_of([60], [12])
    assert model.predict(columns)[0] == pytest.approx(72.066, abs=5e-4)
    t = 2.262157  # Student's t, 9 degrees of freedom, two-sided 95 %
    one = t * model.mean_error(columns)
    assert 72.066 - one == pytest.approx(57.83, abs=0.01)
    assert 72.066 + one == pytest.approx(86.30, abs=0.01)
    mean = t * np.sqrt(model.mean_error(columns) ** 2 - model.residual_sd**2)
    assert 72.066 - mean == pytest.approx(67.97, abs=0.01)
    assert 72.066 + mean == pytest.approx(76.16, abs=0.01)


# By clinician, four patients each (computed, 2.6).
@pytest.mark.parametrize(
    ("name", "observed", "expected", "difference"),
    [
        ("A", 10.25, 12.436, -2.186),
        ("B", 9.25, 11.915, -2.665),
        ("C", 14.25, 9.400, 4.851),
    ],
)
def test_groups_against_their_expectation_as_computed(
    name: str, observed: float, expected: float, difference: float
) -> None:
    """No |z| reaches 1.7: the crude lead of C is no signal."""
    own = name == WHO
    found = compare(d12(), AFTER[own], BASE[own], MONTHS[own])
    assert found.n == 4
    assert found.observed == pytest.approx(observed)
    assert found.expected == pytest.approx(expected, abs=1e-3)
    assert found.difference == pytest.approx(difference, abs=1e-3)
    assert found.z == pytest.approx(found.difference / found.se)
    assert abs(found.difference) / (6.0269 / 2) < 1.7
    assert abs(found.z) < 1.7


# NIST StRD Norris, lower difficulty: x and y of 36 pairs. Certified values: intercept
# -.262323073774029, slope 1.00211681802045, residual SD .884796396144373; errors
# .232818234301152 and .429796848199937e-3, R2 .999993745883712. Mark: computed, and
# certified (the certified digits beyond the reference's are from memory).
NORRIS_X = (
    "0.2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 0.4 0.6 775.5 "
    "666.9 338.0 447.5 11.6 556.0 228.1 995.8 887.6 120.2 0.3 0.3 556.8 339.1 887.2 "
    "999.0 779.0 11.1 118.3 229.2 669.1 448.9 0.5"
)
NORRIS_Y = (
    "0.1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 0.3 0.1 778.1 "
    "668.8 339.3 448.9 10.8 557.7 228.3 998.0 888.8 119.6 0.3 0.6 557.6 339.3 888.0 "
    "998.5 778.9 10.2 117.6 228.9 668.4 449.2 0.2"
)


def test_norris_as_certified() -> None:
    """To ten figures."""
    x, y = (np.array(cells.split(), float) for cells in (NORRIS_X, NORRIS_Y))
    model = least_squares(y, {"x": x}, per_coefficient=15)
    found = [term.estimate for term in model.terms]
    assert found == pytest.approx([-0.262323073774029, 1.00211681802045], rel=1e-10)
    errors = [term.se for term in model.terms]
    assert errors == pytest.approx([0.232818234301152, 0.429796848199937e-3], rel=1e-9)
    assert model.residual_sd == pytest.approx(0.884796396144373, rel=1e-10)
    assert model.r2 == pytest.approx(0.999993745883712, rel=1e-12)


def test_longley_as_certified() -> None:
    """NIST StRD Longley, higher difficulty: six columns that nearly coincide.

    Certified: intercept -3482258.63459582, residual SD 304.854073561965, R2
    .995479004577296. Mark: computed, and certified.
    """
    data = longley.load_pandas()
    columns = {name: data.exog[name].to_numpy() for name in data.exog}
    model = least_squares(data.endog.to_numpy(), columns, per_coefficient=2)
    assert model.terms[0].estimate == pytest.approx(-3482258.63459582, rel=1e-8)
    assert model.residual_sd == pytest.approx(304.854073561965, rel=1e-9)
    assert model.r2 == pytest.approx(0.995479004577296, rel=1e-10)


# Refusals


def test_too_few_patients_are_refused_with_both_counts() -> None:
    """15 for each of three coefficients, the constant counted."""
    rows = np.resize(np.arange(44), 44).astype(float)
    with pytest.raises(TooFew) as refused:
        fit(rows, rows, rows + 1)
    assert (refused.value.has, refused.value.needs) == (44, 45)
    with pytest.raises(TooFew):
        fit([], [], [])


def test_forty_five_are_enough() -> None:
    """At the limit the model is fitted."""
    dice = np.random.default_rng(7)
    base, months = dice.uniform(40, 80, 45), dice.uniform(1, 60, 45)
    after = 40 + 0.6 * base - 3 * np.log2(months) + dice.normal(0, 5, 45)
    assert fit(after, base, months).n == 45


@pytest.mark.parametrize("base", [np.full(60, 70.0), np.log2(np.arange(1, 61)) * 3 + 5])
def test_a_term_that_says_nothing_of_its_own_is_refused(base: np.ndarray) -> None:
    """All at the same baseline, or a baseline that follows from the duration."""
    with pytest.raises(NoSpread):
        fit(np.arange(60.0), base, np.arange(1.0, 61))


def test_a_very_short_duration_counts_as_half_a_month() -> None:
    """The logarithm of none would decide everything."""
    assert list(columns_of([60, 60, 60], [0, 0.5, 1])[DURATION]) == [-1, -1, 0]


# Frozen


def test_a_model_survives_being_kept() -> None:
    """Through JSON and back it predicts to the last digit."""
    model = d12()
    again = Model.from_plain(json.loads(json.dumps(model.to_plain())))
    assert again == model
    columns = columns_of(BASE, MONTHS)
    assert (again.predict(columns) == model.predict(columns)).all()


# Change and baseline


def test_oldham_and_pitman_morgan_as_computed() -> None:
    """D12: r .4818, t 1.739, p .1127; change with baseline is .1023 (2.6)."""
    found = oldham(BASE, AFTER)
    assert found
    assert found.r == pytest.approx(0.4818, abs=5e-5)
    assert found.t == pytest.approx(1.739, abs=5e-4)
    assert found.p == pytest.approx(0.1127, abs=5e-5)
    assert found.df == 10
    coupling = np.corrcoef(BASE, AFTER - BASE)[0, 1]
    assert coupling == pytest.approx(0.1023, abs=5e-5)


def test_oldham_asks_whether_the_variances_differ() -> None:
    """Pitman's statistic from the two variances: a second way to the same t."""
    found = oldham(BASE, AFTER)
    ratio = AFTER.var(ddof=1) / BASE.var(ddof=1)
    r = np.corrcoef(BASE, AFTER)[0, 1]
    t = (ratio - 1) * np.sqrt(10) / (2 * np.sqrt(ratio * (1 - r**2)))
    assert found
    assert found.t == pytest.approx(t)


def test_oldham_is_silent_where_nothing_varies() -> None:
    """One patient, two, or all alike: no correlation."""
    assert oldham([], []) is None
    assert oldham([60], [70]) is None
    assert oldham([60, 60, 60], [70, 70, 70]) is None


# Unrelated scores, and r = .83 (computed, 2.6).
@pytest.mark.parametrize(("r", "expected"), [(0, -0.7071), (0.83, -0.2915), (1, 0)])
def test_coupling_as_computed(r: float, expected: float) -> None:
    """Arithmetic alone makes the worse seem to gain more."""
    assert coupled(r) == pytest.approx(expected, abs=5e-5)


def test_coupling_shows_up_in_unrelated_numbers() -> None:
    """A second way: random columns of equal spread."""
    dice = np.random.default_rng(11)
    first, second = dice.normal(size=(2, 200_000))
    assert np.corrcoef(first, second - first)[0, 1] == pytest.approx(
        coupled(0), abs=0.005
    )
    found = oldham(first, second)
    assert found
    assert abs(found.r) < 0.01


# Properties


@given(st.floats(-40, 40), st.integers(0, 10_000))
def test_a_constant_for_all_moves_the_constant_only(more: float, seed: int) -> None:
    """Everybody better by 5 points: the slopes and the scatter stay."""
    dice = np.random.default_rng(seed)
    base, months = dice.uniform(40, 80, 50), dice.uniform(1, 60, 50)
    after = dice.uniform(40, 100, 50)
    one, two = fit(after, base, months), fit(after + more, base, months)
    moved = [b.estimate - a.estimate for a, b in zip(one.terms, two.terms, strict=True)]
    assert moved == pytest.approx([more, 0, 0], abs=1e-8)
    assert two.residual_sd == pytest.approx(one.residual_sd)


@given(st.integers(0, 10_000))
def test_on_its_own_patients_a_model_expects_what_was_observed(seed: int) -> None:
    """Residuals of least squares add up to nothing."""
    dice = np.random.default_rng(seed)
    base, months = dice.uniform(40, 80, 50), dice.uniform(1, 60, 50)
    after = dice.uniform(40, 100, 50)
    found = compare(fit(after, base, months), after, base, months)
    assert found.difference == pytest.approx(0, abs=1e-8)


@given(st.lists(st.tuples(st.integers(0, 100), st.integers(0, 100)), max_size=30))
def test_oldham_is_a_correlation_and_turns_with_the_scale(
    pairs: list[tuple[int, int]],
) -> None:
    """Read the other way round, before as after, it changes its sign only."""
    one = oldham([a for a, _ in pairs], [b for _, b in pairs])
    two = oldham([b for _, b in pairs], [a for a, _ in pairs])
    assume(one and two)
    assert one and two
    assert -1 <= one.r <= 1
    assert one.r == pytest.approx(-two.r, abs=1e-9)


def test_equal_changes_that_differ_by_rounding_are_equal() -> None:
    """A correlation of nothing but binary digits says nothing."""
    assert oldham([0.1, 0.2, 0.7], [0.3, 0.4, 0.9]) is None
