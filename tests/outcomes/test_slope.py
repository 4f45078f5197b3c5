"""Slopes with a known error, against worked vectors and against scipy."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from outcomes.science.measurement_error import sem_from_mdc
from outcomes.science.slope import (
    Lines,
    State,
    excludes_worthwhile,
    fit_lines,
    states,
    theil_sen,
)
from tests.outcomes.vectors import vectors

VECTORS = vectors("slope")
COURSES = {course["name"]: course for course in VECTORS["courses"]}


def line(weeks: list[float], scores: list[float], *, sem: float) -> Lines:
    """Fit one course given in weeks."""
    days = np.array([weeks], dtype=float) * 7
    values = np.array([scores], dtype=float)
    use = np.ones(days.shape, dtype=bool)
    return fit_lines(days, values, use=use, sem=np.array([sem]), z=VECTORS["z"])


@pytest.mark.parametrize("name", COURSES)
def test_slope_and_limits_match_the_worked_vectors(name: str) -> None:
    """Slope, error and both limits agree to the four decimals given."""
    course = COURSES[name]
    found = line(course["weeks"], course["scores"], sem=VECTORS["sem"])
    for part in ("slope", "error", "lower", "upper"):
        assert getattr(found, part)[0] == pytest.approx(course[part], abs=6e-5)
    assert (VECTORS["sem"] / found.error[0]) ** 2 == pytest.approx(course["sxx"])


@pytest.mark.parametrize("name", COURSES)
def test_state_and_median_slope_match_the_worked_vectors(name: str) -> None:
    """The state's name and the median of pairwise slopes agree."""
    course = COURSES[name]
    found = line(course["weeks"], course["scores"], sem=VECTORS["sem"])
    worthwhile = np.array([VECTORS["worthwhile"]])
    assert states(found, worthwhile=worthwhile) == [State(course["state"])]
    days = np.array(course["weeks"], dtype=float) * 7
    median = theil_sen(days, np.array(course["scores"], dtype=float))
    assert median == pytest.approx(course["theil_sen"], abs=6e-5)


def test_koos_pf_course_improves() -> None:
    """A scale with a larger error needs a steeper slope."""
    koos = VECTORS["koos_pf"]
    found = line(koos["weeks"], koos["scores"], sem=koos["sem"])
    assert found.slope[0] == pytest.approx(koos["slope"])
    assert found.error[0] == pytest.approx(koos["error"], abs=6e-5)
    assert states(found, worthwhile=np.array([1.0])) == [State.IMPROVING]


def test_error_behind_the_detectable_change_is_the_one_used() -> None:
    """MDC 13 means an error of 4.690, as the vectors use."""
    assert sem_from_mdc(13, 95) == pytest.approx(VECTORS["sem"], abs=1e-5)


def distinct_course(draw: Any) -> tuple[list[float], list[float]]:
    """Draw a course of at least two looks on distinct days."""
    days = draw(st.lists(st.integers(0, 400), min_size=2, max_size=9, unique=True))
    size = len(days)
    scores = draw(st.lists(st.integers(0, 100), min_size=size, max_size=size))
    return sorted(days), scores


@given(st.composite(distinct_course)())
def test_slopes_agree_with_scipy(course: tuple[list[float], list[float]]) -> None:
    """Least squares and median slope equal an independent implementation."""
    days, scores = (np.array(part, dtype=float) for part in course)
    found = line(list(days / 7), list(scores), sem=4.69)
    expected = stats.linregress(days / 7, scores).slope
    assert found.slope[0] == pytest.approx(expected, abs=1e-8)
    median = stats.theilslopes(scores, days / 7).slope
    assert theil_sen(days, scores) == pytest.approx(median, abs=1e-9)


@given(st.composite(distinct_course)())
def test_error_is_the_one_of_weighted_least_squares(
    course: tuple[list[float], list[float]],
) -> None:
    """The slope's error equals that of a fit with known errors, not of residuals."""
    days, scores = (np.array(part, dtype=float) for part in course)
    design = np.column_stack([np.ones(len(days)), days / 7])
    covariance = 4.69**2 * np.linalg.inv(design.T @ design)
    found = line(list(days / 7), list(scores), sem=4.69)
    assert found.error[0] == pytest.approx(covariance[1, 1] ** 0.5, rel=1e-6)


def test_unused_entries_change_nothing() -> None:
    """Padding and entries outside the window do not pull the line."""
    days = np.array([[0.0, 14.0, 28.0, 42.0, np.nan]])
    values = np.array([[58.0, 64.0, 69.0, 74.0, np.nan]])
    with_odd = values.copy()
    with_odd[0, 0] = 5.0
    use = np.array([[False, True, True, True, False]])
    sem = np.array([4.69])
    one = fit_lines(days, values, use=use, sem=sem, z=1.645)
    two = fit_lines(days, with_odd, use=use, sem=sem, z=1.645)
    assert one.slope == pytest.approx(two.slope)
    assert (one.looks[0], one.weeks[0]) == (3, pytest.approx(4.0))


def test_looks_on_one_day_make_no_line() -> None:
    """Two scores of one day have no slope, and say so by nan."""
    found = line([2, 2], [60, 70], sem=4.69)
    assert np.isnan(found.slope[0])
    assert np.isnan(theil_sen(np.array([14.0, 14.0]), np.array([60.0, 70.0])))


def test_no_looks_make_no_line() -> None:
    """A case without any look is kept, without a slope."""
    days = np.full((1, 3), np.nan)
    use = np.zeros((1, 3), dtype=bool)
    found = fit_lines(days, days, use=use, sem=np.array([4.69]), z=1.645)
    assert np.isnan(found.slope[0])
    assert (found.looks[0], found.weeks[0]) == (0, 0)


@pytest.mark.parametrize(
    ("weeks", "scores"), [([0, 6], [60, 60]), ([0, 1, 2], [60, 60, 60])]
)
def test_two_looks_or_three_weeks_are_insufficient(
    weeks: list[float], scores: list[float]
) -> None:
    """Fewer than three looks or four weeks carry no state."""
    found = line(weeks, scores, sem=4.69)
    assert states(found, worthwhile=np.array([0.9])) == [State.INSUFFICIENT]


def test_three_looks_in_four_weeks_are_enough_for_a_state() -> None:
    """The least that is judged at all."""
    found = line([0, 2, 4], [60, 60, 60], sem=4.69)
    assert states(found, worthwhile=np.array([0.9])) == [State.NO_MEASURABLE_PROGRESS]


def test_four_looks_in_six_weeks_stay_uncertain_between_slow_and_worthwhile() -> None:
    """A slope of 0.6 a week with an error of 1.05 says nothing either way."""
    found = line([0, 2, 4, 6], [60, 61.2, 62.4, 63.6], sem=4.69)
    assert states(found, worthwhile=np.array([0.9])) == [State.UNCERTAIN]


@pytest.mark.parametrize(
    ("least", "weeks", "supported"), [(7, 12, True), (8, 12, False), (7, 13, False)]
)
def test_a_plateau_needs_enough_looks_and_weeks(
    least: int, weeks: float, supported: bool
) -> None:
    """Course E supports a plateau with seven looks over twelve weeks, no less."""
    course = COURSES["E"]
    found = line(course["weeks"], course["scores"], sem=VECTORS["sem"])
    worthwhile = np.array([VECTORS["worthwhile"]])
    flat = excludes_worthwhile(
        found, worthwhile=worthwhile, min_looks=least, min_weeks=weeks
    )
    assert flat[0] == supported


@pytest.mark.parametrize("rate", [0.7, -0.7])
def test_a_slow_but_certain_trend_is_no_plateau(rate: float) -> None:
    """Many looks that show a small real trend are named by the trend."""
    weeks = [float(week) for week in range(0, 40, 2)]
    found = line(weeks, [50 + rate * week for week in weeks], sem=4.69)
    worthwhile = np.array([0.9])
    assert found.upper[0] < worthwhile[0]
    assert not excludes_worthwhile(
        found, worthwhile=worthwhile, min_looks=4, min_weeks=4
    )[0]
