"""Survival and cumulative incidence against published data and against hand work.

Tie rule everywhere: events before censorings at the same time.
"""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from outcomes.science.group.time_to import (
    CENSORED,
    COMPETING,
    EVENT,
    at_risk,
    cumulative_incidence,
    last_week,
    median_incidence,
    median_survival,
    survival,
)

# Remission of acute leukaemia in weeks, 42 children, 6-mercaptopurine or placebo;
# negative means censored. Freireich 1963 as given by Gehan 1965 and in most
# textbooks of survival. Mark: confirmed.
MERCAPTOPURINE = (
    "6 6 6 -6 7 -9 10 -10 -11 13 16 -17 -19 -20 22 23 -25 -32 -32 -34 -35"
).split()
PLACEBO = "1 1 2 2 3 4 4 5 5 8 8 8 8 11 11 12 12 15 17 22 23".split()


def typed(cells: list[str]) -> tuple[list[int], list[int]]:
    """Return weeks, and 1 where the event happened."""
    numbers = [int(cell) for cell in cells]
    return [abs(n) for n in numbers], [int(n > 0) for n in numbers]


# Survival and Greenwood error at each event (confirmed; R's survfit prints the same).
@pytest.mark.parametrize(
    ("week", "value", "error"),
    [
        (6, 0.8571, 0.0764),
        (7, 0.8067, 0.0869),
        (10, 0.7529, 0.0963),
        (13, 0.6902, 0.1068),
        (16, 0.6275, 0.1141),
        (22, 0.5378, 0.1282),
        (23, 0.4482, 0.1346),
    ],
)
def test_remission_under_treatment_as_published(
    week: int, value: float, error: float
) -> None:
    """Kaplan-Meier and Greenwood on the 6-MP data."""
    curve = survival(*typed(MERCAPTOPURINE))
    here = list(curve.weeks).index(week)
    assert curve.value[here] == pytest.approx(value, abs=5e-5)
    assert curve.se[here] == pytest.approx(error, abs=5e-5)


# Medians with 95 % limits from the log band (confirmed, R's defaults).
@pytest.mark.parametrize(
    ("group", "expected"),
    [(MERCAPTOPURINE, (23, 16, np.inf)), (PLACEBO, (8, 4, 12))],
)
def test_median_remission_as_published(
    group: list[str], expected: tuple[float, float, float]
) -> None:
    """The first week with half or less left; the upper limit may not be reached."""
    found = median_survival(survival(*typed(group)))
    assert (found.week, found.low, found.high) == expected


def test_a_median_is_reached_at_exactly_half() -> None:
    """Two of four by week 2: half is enough (some packages want more than half)."""
    assert median_survival(survival([1, 2, 3, 4], [1, 1, 1, 1])).week == 2
    assert median_incidence(cumulative_incidence([1, 2, 3, 4], [1, 1, 0, 2])).week == 2


# Eight invented people: improved (1), left (2), still followed (0).
WEEKS = [2, 3, 3, 5, 6, 6, 8, 9]
ENDS = [EVENT, CENSORED, COMPETING, EVENT, COMPETING, EVENT, CENSORED, EVENT]


def test_incidence_against_hand_work() -> None:
    """Worked by hand in fractions, with a tie of a leaving and a censoring.

    Week 2: 8 at risk, 1/8 improve, 7/8 go on. Week 3: 7 at risk (who is censored
    that week still counts), 7/8 x 1/7 = 1/8 leave, 3/4 go on. Week 5: 5 at risk,
    3/4 x 1/5 improve, 3/5 go on. Week 6: 4 at risk, 3/5 x 1/4 improve and as many
    leave, 3/10 go on. Week 9: the last one improves, 3/10.
    """
    eighth = Fraction(1, 8)
    improved = [eighth, eighth + Fraction(3, 20)]
    improved += [improved[-1] + Fraction(3, 20)]
    improved += [improved[-1] + Fraction(3, 10)]
    left = [eighth, eighth + Fraction(3, 20)]
    events = cumulative_incidence(WEEKS, ENDS)
    leaving = cumulative_incidence(WEEKS, ENDS, of=COMPETING)
    assert [events.at(week, 0)[0] for week in (2, 5, 6, 9)] == pytest.approx(
        [float(share) for share in improved]
    )
    assert [leaving.at(week, 0)[0] for week in (3, 6)] == pytest.approx(
        [float(share) for share in left]
    )
    assert events.at(1.9, 0)[0] == 0
    assert improved[-1] + left[-1] == 1


def by_hand_error(weeks: list[int], ends: list[int], upto: int) -> float:
    """Return the delta-method error of the incidence, straight from the formula.

    Marubini & Valsecchi 1995, section 10.2 (from memory): the sum over times t of
    (I(T) - I(t))^2 d/(n(n-d)) + S^2 e(n-e)/n^3 - 2 (I(T) - I(t)) S e/n^2, with d all
    ends, e the events, n at risk, and S and I of just before and at t.
    """
    steps, alive, reached = [], 1.0, 0.0
    for week in sorted({w for w in weeks if w <= upto}):
        n = sum(w >= week for w in weeks)
        here = [end for w, end in zip(weeks, ends, strict=True) if w == week]
        d, e = sum(end != CENSORED for end in here), here.count(EVENT)
        reached += alive * e / n
        steps.append((n, d, e, alive, reached))
        alive *= 1 - d / n
    total = 0.0
    for n, d, e, before, so_far in steps:
        ahead = reached - so_far
        total += ahead**2 * d / (n * (n - d)) + before**2 * e * (n - e) / n**3
        total -= 2 * ahead * before * e / n**2
    return float(np.sqrt(total))


@pytest.mark.parametrize("week", [2, 3, 5, 6, 8])
def test_the_error_of_an_incidence_against_its_formula(week: int) -> None:
    """The library's delta method is the one that is stated."""
    curve = cumulative_incidence(WEEKS, ENDS)
    here = list(curve.weeks).index(week)
    assert curve.se[here] == pytest.approx(by_hand_error(WEEKS, ENDS, week))


def test_without_a_competing_end_incidence_is_one_less_survival() -> None:
    """And its error is Greenwood's, on the 6-MP data."""
    weeks, happened = typed(MERCAPTOPURINE)
    curve, kept = cumulative_incidence(weeks, happened), survival(weeks, happened)
    for week in kept.weeks:
        assert curve.at(week, 0)[0] == pytest.approx(1 - kept.at(week, 1)[0])
    ends = [list(curve.weeks).index(week) for week in kept.weeks]
    assert curve.se[ends] == pytest.approx(kept.se)


def test_censoring_who_left_overstates() -> None:
    """Austin, Lee & Fine 2016 (confirmed): 1 - KM is above the incidence."""
    kept = survival(WEEKS, [int(end == EVENT) for end in ENDS])
    curve = cumulative_incidence(WEEKS, ENDS)
    assert 1 - kept.at(6, 1)[0] > curve.at(6, 0)[0]
    assert 1 - kept.at(9, 1)[0] == pytest.approx(1)


def test_limits_stay_between_nothing_and_all() -> None:
    """At 0 and where nobody remains there is no interval rather than a false one."""
    curve = cumulative_incidence(WEEKS, ENDS)
    inside = np.isfinite(curve.low)
    assert (curve.low[inside] > 0).all()
    assert (curve.high[inside] < 1).all()
    assert np.isnan(curve.high[-1])
    nobody = cumulative_incidence([1, 2, 3], [CENSORED] * 3)
    assert list(nobody.value) == [0, 0, 0]
    assert median_incidence(nobody).week == np.inf
    assert np.isnan(cumulative_incidence([], []).at(3, 0)[1])
    assert survival([], []).at(3, 1)[0] == 1
    left = cumulative_incidence([1, 2, 3], [COMPETING] * 3)
    assert left.at(3, 0)[0] == 0


def test_who_is_at_risk_and_where_a_curve_ends() -> None:
    """An end in a week was at risk in it; a curve ends with five at risk."""
    assert at_risk(WEEKS, [0, 3, 4, 9, 10]) == (8, 7, 5, 1, 0)
    assert last_week(WEEKS) == 5
    assert last_week(WEEKS[:4]) is None
    assert last_week([]) is None
    assert last_week([3] * 5) == 3


courses = st.lists(
    st.tuples(st.integers(1, 20), st.sampled_from([CENSORED, EVENT, COMPETING])),
    min_size=1,
    max_size=40,
)


@given(courses)
def test_both_incidences_and_survival_add_up_to_all(
    course: list[tuple[int, int]],
) -> None:
    """Improved, left, and neither are everybody, at every week."""
    weeks, ends = (list(part) for part in zip(*course, strict=True))
    events = cumulative_incidence(weeks, ends)
    leaving = cumulative_incidence(weeks, ends, of=COMPETING)
    neither = survival(weeks, [int(end != CENSORED) for end in ends])
    for week in range(21):
        parts = (events.at(week, 0)[0], leaving.at(week, 0)[0], neither.at(week, 1)[0])
        assert sum(parts) == pytest.approx(1)


@given(courses)
def test_an_incidence_never_falls_and_its_limits_hold_it(
    course: list[tuple[int, int]],
) -> None:
    """A share that has come to an end cannot come back from it."""
    weeks, ends = (list(part) for part in zip(*course, strict=True))
    curve = cumulative_incidence(weeks, ends)
    assert (np.diff(curve.value) >= -1e-12).all()
    inside = np.isfinite(curve.low)
    assert (curve.low[inside] <= curve.value[inside] + 1e-12).all()
    assert (curve.high[inside] >= curve.value[inside] - 1e-12).all()
