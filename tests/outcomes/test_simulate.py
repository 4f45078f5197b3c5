"""Simulated courses, against figures simulated and derived elsewhere."""

import re
from collections.abc import Callable
from io import StringIO
from math import sqrt

import numpy as np
import pytest
from django.core.management import CommandError, call_command

from outcomes.policy_cost import share_words
from outcomes.science.courses import Floats
from outcomes.science.policy import StallPolicy
from outcomes.science.progress import Flags, read_progress
from outcomes.science.rules import Rule
from outcomes.science.simulate import (
    NOT_SIMULATED,
    SIMULATED,
    Characteristics,
    Rate,
    characteristics,
    rate,
    simulate,
)
from outcomes.science.simulated_courses import (
    MIX,
    OPENED_ON,
    SetUp,
    Truth,
    simulate_courses,
)
from outcomes.science.slope import fit_lines
from outcomes.science.stall import CaseCourse, Courses
from tests.factories import make_site

CASES = 20_000
SEM = 4.69
WORTHWHILE = 11 / 12
# The figures have three decimals, and were themselves simulated: allow four errors
# of a difference of two simulations of this size.
ALLOWED = 4 * sqrt(2)


def noisy(true: list[float], *, seed: int = 11) -> Floats:
    """Return courses of eight fortnightly looks with independent normal errors."""
    rng = np.random.default_rng(seed)
    return np.array(true) + rng.normal(0.0, SEM, (CASES, len(true)))


def fortnightly(per_week: float) -> list[float]:
    """Return the true score at eight fortnightly looks."""
    return [60 + per_week * 2 * look for look in range(8)]


def slow_windows(scores: Floats) -> Flags:
    """Return, per window of four looks, whether its slope is below half the rate."""
    days = np.tile(np.arange(8.0) * 14, (len(scores), 1))
    sem, slow = np.full(len(scores), SEM), []
    for last in range(4, 9):
        use = np.zeros(scores.shape, dtype=bool)
        use[:, last - 4 : last] = True
        lines = fit_lines(days, scores, use=use, sem=sem, z=1.645)
        slow.append(lines.slope < WORTHWHILE / 2)
    return np.stack(slow, axis=1)


def twice_running(flags: Flags) -> Flags:
    """Return whether two entries running hold."""
    return flags[:, 1:] & flags[:, :-1]


def assert_share(flags: Flags, expected: float) -> None:
    """The share of cases ever flagged is the expected one within simulation error."""
    error = sqrt(expected * (1 - expected) / CASES)
    assert rate(flags.any(axis=1)).share == pytest.approx(
        expected, abs=ALLOWED * error + 5e-4
    )


@pytest.mark.parametrize(
    ("true", "once", "twice"),
    [
        (fortnightly(0), 0.999, 0.908),
        (fortnightly(WORTHWHILE / 2), 0.980, 0.719),
        (fortnightly(WORTHWHILE), 0.885, 0.441),
        (fortnightly(2 * WORTHWHILE), 0.390, 0.068),
        ([60, *[66] * 7], 0.996, 0.875),
    ],
    ids=["flat", "half", "expected", "double", "early gain of 6"],
)
def test_window_rule_flags_as_often_as_simulated_before(
    true: list[float], once: float, twice: float
) -> None:
    """Eight fortnightly looks, windows of four: the statistics reference's table.

    Its row of an early gain of 20 is left out: the speed of that gain is not stated.
    """
    slow = slow_windows(noisy(true))
    assert_share(slow, once)
    assert_share(twice_running(slow), twice)


def assert_share_of_two_decimals(flags: Flags, expected: float) -> None:
    """The share rounds to the expected one within simulation error."""
    found = rate(flags.any(axis=1))
    assert found.share == pytest.approx(expected, abs=0.005 + ALLOWED * found.error)


def low_against(scores: Floats, best: Callable[[Floats], Floats]) -> Flags:
    """Return, per look, whether it lies 13 points below the best look so far."""
    lows = [
        scores[:, look] <= best(scores[:, :look]) - 13
        for look in range(1, scores.shape[1])
    ]
    return np.stack(lows, axis=1)


@pytest.mark.parametrize(
    ("per_week", "once", "twice"), [(0, 0.35, 0.06), (WORTHWHILE, 0.12, 0.01)]
)
def test_drops_below_the_highest_single_look_are_as_noisy_as_stated(
    per_week: float, once: float, twice: float
) -> None:
    """The clinical reference's figures are those of the highest single look."""
    low = low_against(noisy(fortnightly(per_week)), lambda seen: seen.max(axis=1))
    assert_share_of_two_decimals(low, once)
    assert_share_of_two_decimals(twice_running(low), twice)


def low_looks(scores: Floats) -> Flags:
    """Return, per look, whether the project itself calls it low."""
    start = OPENED_ON.toordinal()
    one = Courses.from_cases(
        [CaseCourse(opened_on=OPENED_ON, mcid=10, mdc=13, sem=SEM, best_possible=100)]
    )
    same = {
        name: np.repeat(getattr(one, name), len(scores), axis=0)
        for name in one.__dataclass_fields__
    }
    days = np.tile(start + np.arange(8.0) * 14, (len(scores), 1))
    courses = Courses(**same | {"look_day": days, "look_score": scores})
    on = float(start + 200)
    return read_progress(courses, policy=StallPolicy(), on=on).looks.low


@pytest.mark.parametrize(
    ("per_week", "once", "twice"), [(0, 0.20, 0.025), (WORTHWHILE, 0.04, 0.0015)]
)
def test_the_mean_of_two_looks_makes_false_alarms_rarer(
    per_week: float, once: float, twice: float
) -> None:
    """Against the highest mean of two looks: a fresh loop and the project agree."""
    scores = noisy(fortnightly(per_week))

    def best(seen: Floats) -> Floats:
        means = (seen[:, 1:] + seen[:, :-1]) / 2
        return np.maximum(means.max(axis=1, initial=-np.inf), scores[:, 0])

    by_loop = low_against(scores, best)
    by_project = low_looks(scores)[:, 1:]
    assert (by_loop == by_project).all()
    assert rate(by_loop.any(axis=1)).share == pytest.approx(once, abs=0.01)
    both = twice_running(by_loop).any(axis=1)
    assert rate(both).share == pytest.approx(twice, abs=0.003)


# The policy's own characteristics


@pytest.fixture(scope="module")
def default() -> Characteristics:
    """The default policy on 1,500 cases per true course."""
    return characteristics(StallPolicy(), cases=1500, weeks=26, seed=3)


def rates(found: Characteristics, rule: Rule | None) -> dict[Truth, Rate]:
    """Return how often a finding was ever prompted, per true course."""
    row = next(row for row in found.rows if row.rule is rule)
    return dict(zip(found.truths, row.ever, strict=True))


def test_every_finding_is_simulated_or_says_why_not() -> None:
    """No rule is missing from the table without a reason."""
    assert set(SIMULATED) | set(NOT_SIMULATED) == set(Rule)
    assert not set(SIMULATED) & set(NOT_SIMULATED)


def test_prompts_follow_the_truth(default: Characteristics) -> None:
    """The worse the true course, the more prompts on progress."""
    for rule in (Rule.TARGET_NOT_REACHED, Rule.NO_MEASURABLE_PROGRESS, None):
        shares = {truth: found.share for truth, found in rates(default, rule).items()}
        assert shares[Truth.FAST] < shares[Truth.ON_COURSE] < shares[Truth.FLAT]
    worse = rates(default, Rule.WORSENING)
    assert worse[Truth.WORSENING].share > 0.9 > 0.2 > worse[Truth.FLAT].share
    assert worse[Truth.ON_COURSE].share < 0.02


def test_target_at_week_12_agrees_with_the_normal_model() -> None:
    """Without pain, rank 4 at week 12 is the chance that the observed gain is < 10.

    The difference of two errors has SD 4.69 x sqrt 2 = 6.633; whole points make the
    limit 9.5 (nearly: both scores are rounded). Flat: P(Z < 9.5/6.633) = 0.924. On
    course: P(Z < -0.5/6.633) = 0.470. A start at exactly 60 keeps clear of both ends.
    """
    set_up = SetUp(
        cases=4000,
        weeks=12,
        baseline_share=0.6,
        baseline_sd_share=0,
        pain_start=0,
        seed=5,
    )
    found = simulate(StallPolicy(pain_points=5.0), set_up)
    row = next(row for row in found.rows if row.rule is Rule.TARGET_NOT_REACHED)
    for observed, expected in zip(row.at_week[:2], (0.924, 0.470), strict=True):
        assert observed.share == pytest.approx(expected, abs=4 * observed.error + 0.01)


def test_caseload_share_is_the_mix_of_the_truths(default: Characteristics) -> None:
    """Share and error are the weighted ones, whatever the finding."""
    for row in default.rows:
        parts = zip(default.truths, row.at_week, strict=True)
        expected = sum(MIX[truth] * found.share for truth, found in parts)
        assert row.caseload_at_week.share == pytest.approx(expected)
        assert row.caseload_at_week.error <= max(r.error for r in row.at_week)


def test_same_seed_same_result(default: Characteristics) -> None:
    """A table can be printed again, number for number."""
    again = characteristics(StallPolicy(), cases=1500, weeks=26, seed=3)
    other = characteristics(StallPolicy(), cases=1500, weeks=26, seed=4)
    assert again.rows == default.rows
    assert other.rows != default.rows


def test_a_laxer_policy_prompts_less(default: Characteristics) -> None:
    """The lead sees what a setting costs."""
    lax = characteristics(
        StallPolicy(mcid_akps=6.0, slow_share=0.25), cases=1500, weeks=26, seed=3
    )
    shares = [
        rates(found, Rule.NO_MEASURABLE_PROGRESS)[Truth.ON_COURSE].share
        for found in (default, lax)
    ]
    assert shares[1] < shares[0]


def test_missed_looks_are_overdue() -> None:
    """One re-measure in ten missed: 1 − 0.9⁵ = 41 % at least once up to week 19.

    Looks are due at weeks 3, 6, 9, 12 and 18; the last is overdue from day 134.
    """
    found = characteristics(StallPolicy(), cases=3000, weeks=20, seed=7, missed=0.1)
    overdue = rates(found, Rule.REMEASURE_OVERDUE)
    for observed in overdue.values():
        assert observed.share == pytest.approx(0.41, abs=4 * observed.error)
    none = characteristics(StallPolicy(), cases=50, weeks=20, seed=7)
    assert {r.share for r in rates(none, Rule.REMEASURE_OVERDUE).values()} == {0.0}


def test_simulation_error_is_the_binomial_one() -> None:
    """A share of one quarter in 100 cases has an error of 0.0433."""
    flags = np.arange(100) < 25
    assert rate(flags) == Rate(share=0.25, error=pytest.approx(0.0433, abs=5e-5))


def test_simulated_scores_stay_on_the_scale_in_whole_points() -> None:
    """Observed scores look like real ones, unless rounding is switched off."""
    policy = StallPolicy()
    courses = simulate_courses(policy, SetUp(cases=500))
    assert courses.look_score.min() >= 0
    assert courses.look_score.max() <= 100
    assert (courses.look_score == np.round(courses.look_score)).all()
    raw = simulate_courses(policy, SetUp(cases=500, is_rounded=False))
    assert (raw.look_score != np.round(raw.look_score)).any()


def test_set_up_is_stated_in_words(default: Characteristics) -> None:
    """Whoever reads the table sees what it rests on."""
    told = " ".join(default.statements)
    for part in ("1500", "seed 3", "0, 3, 6, 9, 12, 18, 24", "0.83", "4.69", "35%"):
        assert part in told


@pytest.mark.parametrize(
    ("measure_key", "highest"), [("koos_pf", 100), ("lefs", 80), ("psfs", 10)]
)
def test_every_primary_measure_can_be_simulated(
    measure_key: str, highest: float
) -> None:
    """The set-up takes range and thresholds from the catalogue."""
    set_up = SetUp(measure_key=measure_key, cases=200)
    scores = simulate_courses(StallPolicy(), set_up).look_score
    assert 0.6 * highest < scores[:200].mean() < 0.8 * highest
    assert scores.max() <= highest
    found = characteristics(
        StallPolicy(), cases=200, weeks=14, seed=1, measure_key=measure_key
    )
    assert len(found.rows) == len(SIMULATED) + 1


@pytest.mark.parametrize(
    "wrong", [{"cases": 0}, {"weeks": 0}, {"at_week": 30}, {"missed": 1.0}]
)
def test_an_impossible_set_up_is_refused(wrong: dict[str, float]) -> None:
    """A wrong size is an error, not an empty table."""
    with pytest.raises(ValueError, match="must be"):
        characteristics(StallPolicy(), **wrong)


# The command


def test_command_prints_set_up_tables_and_error() -> None:
    """Both tables, every finding, and the findings that are not simulated."""
    printed = StringIO()
    call_command("stall_characteristics", cases=100, weeks=14, seed=9, stdout=printed)
    text = printed.getvalue()
    assert "100 invented cases for each true course; seed 9." in text
    assert "Prompted at least once by week 14, % ± simulation error" in text
    assert "Prompted at week 12, % ± simulation error" in text
    for rule in Rule:
        assert rule.title in text
    assert re.search(r" 4 Target not reached.* \d+\.\d ± \d\.\d", text)
    assert re.search(r" 8 Re-measure overdue( +< 3){5}$", text, re.MULTILINE)


@pytest.mark.parametrize(
    ("share", "words"), [(0, "< 0.15"), (100, "> 99.85"), (12.34, "12.3 ± 0.7")]
)
def test_none_or_all_of_the_cases_get_their_limit(share: float, words: str) -> None:
    """Three in 2,000 cases, on the page and in the command."""
    assert share_words(share, 0.73, cases=2000) == words


@pytest.mark.django_db
def test_command_judges_the_policy_of_a_site() -> None:
    """A site is found by its name."""
    site = make_site("Invented hill clinic")
    printed = StringIO()
    call_command(
        "stall_characteristics", site=site.name, cases=20, weeks=6, stdout=printed
    )
    assert "How often review findings prompt: Invented hill clinic" in (
        printed.getvalue()
    )


@pytest.mark.django_db
def test_command_says_when_there_is_no_such_site() -> None:
    """A mistyped name is not silently the default policy."""
    with pytest.raises(CommandError, match="There is no site called 'Nowhere'"):
        call_command("stall_characteristics", site="Nowhere")


def test_command_refuses_an_impossible_size() -> None:
    """The reason comes as one line."""
    with pytest.raises(CommandError, match="cases and weeks must be at least 1"):
        call_command("stall_characteristics", cases=0)
