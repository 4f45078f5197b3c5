"""Invented courses whose truth is known, under a policy's own schedule.

Every number of the set-up that has no source is an assumption of this project;
`statements` puts all of them into words.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from types import MappingProxyType

import numpy as np

from .courses import Courses, Floats
from .measurement_error import sem_from_mdc
from .measures import Measure, measure
from .phrases import number_words
from .policy import StallPolicy
from .primary import PrimaryNumbers, primary_numbers
from .slope import DAYS_A_WEEK

SEED = 20260105
OPENED_ON = date(2026, 1, 5)


class Truth(StrEnum):
    """The true course behind a simulated case."""

    FLAT = "flat"
    ON_COURSE = "on course"
    FAST = "improving fast"
    WORSENING = "worsening"


# True rate of change as a multiple of the expected rate (MCID / planned weeks).
RATES: Mapping[Truth, float] = MappingProxyType(
    {Truth.FLAT: 0.0, Truth.ON_COURSE: 1.0, Truth.FAST: 2.0, Truth.WORSENING: -1.0}
)
# Project assumption. A trial's 12-week gains near 7 of the 10 points that matter
# fit a caseload in which about half stay flat or get worse.
MIX: Mapping[Truth, float] = MappingProxyType(
    {
        Truth.FLAT: 0.35,
        Truth.ON_COURSE: 0.35,
        Truth.FAST: 0.20,
        Truth.WORSENING: 0.10,
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SetUp:
    """What was simulated; pain in points, baselines as shares of the score's range.

    AKPS baselines of 65 to 75 with an SD of 11 to 13.5 are typical (from memory).
    """

    measure_key: str = "akps"
    cases: int = 4000
    weeks: int = 26
    at_week: int = 12
    seed: int = SEED
    baseline_share: float = 0.70
    baseline_sd_share: float = 0.12
    pain_start: float = 6.0
    pain_mdc: float = 2.0
    visit_every_weeks: int = 2
    missed: float = 0.0
    is_rounded: bool = True
    mix: Mapping[Truth, float] = field(default_factory=lambda: MIX)

    def __post_init__(self) -> None:
        """Refuse a set-up that simulates nothing or does not add up."""
        if self.cases < 1 or self.weeks < 1 or not 0 <= self.at_week <= self.weeks:
            raise ValueError("cases and weeks must be at least 1, at_week within them")
        if not 0 <= self.missed < 1:
            raise ValueError(
                "the share of missed re-measures must be from 0 to below 1"
            )
        if set(self.mix) != set(Truth) or abs(sum(self.mix.values()) - 1) > 1e-9:
            raise ValueError("the mix needs a share for every truth, 1 in all")


def statements(policy: StallPolicy, set_up: SetUp) -> tuple[str, ...]:
    """Return the set-up in plain words, one sentence each."""
    about = measure(set_up.measure_key)
    due = ", ".join(f"{week:g}" for week in due_weeks(policy, set_up.weeks))
    mix = ", ".join(f"{share:.0%} {truth}" for truth, share in set_up.mix.items())
    return (
        f"{set_up.cases} invented cases for each true course; seed {set_up.seed}.",
        f"{about.short_name} at weeks {due}, {_missed_words(set_up)}; judged once a "
        f"week up to week {set_up.weeks}.",
        *_score_statements(policy, set_up, about),
        f"Worst pain starts at {number_words(set_up.pain_start)}, is asked every "
        f"{set_up.visit_every_weeks} weeks and moves by "
        f"{number_words(policy.pain_points)} for each important change of the score, "
        "with an error of its own (from a detectable change of "
        f"{number_words(set_up.pain_mdc)}).",
        f"Scores and pain stay within their scales{_rounded_words(set_up)}.",
        f"Shares of a caseload take {mix}: an assumption, not a finding.",
    )


def _score_statements(
    policy: StallPolicy, set_up: SetUp, about: Measure
) -> tuple[str, str]:
    numbers = primary_numbers(about.key, policy)
    mean, spread = _baseline(about, set_up)
    rate = numbers.mcid / policy.planned_weeks
    return (
        "True courses are straight lines: flat; on course, "
        f"{number_words(rate, decimals=2)} points a week (the important change of "
        f"{number_words(numbers.mcid)} over {policy.planned_weeks} weeks); improving "
        "fast, twice that; worsening, the same downwards.",
        f"True baselines are normal around {number_words(mean)}, SD "
        f"{number_words(spread)}; errors are independent and normal, "
        f"standard error {number_words(numbers.sem, decimals=2)} (from the detectable "
        f"change of {number_words(numbers.mdc)}).",
    )


def _missed_words(set_up: SetUp) -> str:
    if set_up.missed == 0:
        return "none missed"
    return f"{set_up.missed:.0%} of those after the baseline missed at random"


def _rounded_words(set_up: SetUp) -> str:
    return " and are whole points" if set_up.is_rounded else ", unrounded"


def simulate_courses(policy: StallPolicy, set_up: SetUp) -> Courses:
    """Invent the cases, truth after truth in the order of `Truth`."""
    rng = np.random.default_rng(set_up.seed)
    about = measure(set_up.measure_key)
    numbers = primary_numbers(about.key, policy)
    rows = len(Truth) * set_up.cases
    rate = np.repeat([RATES[truth] for truth in Truth], set_up.cases)
    rate = rate / policy.planned_weeks
    due = due_weeks(policy, set_up.weeks)
    visits = np.arange(0.0, set_up.weeks + 1, set_up.visit_every_weeks)
    scores = _scores(rng, about, numbers, set_up, important=rate[:, None] * due)
    scores[:, 1:][rng.random((rows, len(due) - 1)) < set_up.missed] = np.nan
    pain = _pain(rng, policy, set_up, important=rate[:, None] * visits)
    return _as_courses(policy, numbers, due, scores, visits, pain)


def due_weeks(policy: StallPolicy, weeks: int) -> Floats:
    """Return the due weeks of a policy's schedule up to a week."""
    planned = list(policy.schedule_weeks)
    later = range(
        planned[-1] + policy.then_every_weeks, weeks + 1, policy.then_every_weeks
    )
    return np.array([week for week in [*planned, *later] if week <= weeks], float)


def _scores(
    rng: np.random.Generator,
    about: Measure,
    numbers: PrimaryNumbers,
    set_up: SetUp,
    *,
    important: Floats,
) -> Floats:
    """Return observed scores; `important` is the true gain in important changes."""
    mean, spread = _baseline(about, set_up)
    start = rng.normal(mean, spread, len(important))
    gain = important * numbers.mcid * numbers.sign
    true = np.clip(start[:, None] + gain, about.low, about.high)
    observed = true + rng.normal(0.0, numbers.sem, true.shape)
    return _on_scale(observed, about.low, about.high, set_up)


def _baseline(about: Measure, set_up: SetUp) -> tuple[float, float]:
    """Return mean and SD of true baselines in points, counted from the poor end."""
    poor_end = about.low + about.high - about.best_possible
    towards_good = 1 if about.best_possible == about.high else -1
    size = about.high - about.low
    mean = poor_end + towards_good * set_up.baseline_share * size
    return mean, set_up.baseline_sd_share * size


def _pain(
    rng: np.random.Generator,
    policy: StallPolicy,
    set_up: SetUp,
    *,
    important: Floats,
) -> Floats:
    """Return observed worst pain; it falls by what counts per important change."""
    true = np.clip(set_up.pain_start - important * policy.pain_points, 0.0, 10.0)
    error = rng.normal(0.0, sem_from_mdc(set_up.pain_mdc, 95), true.shape)
    return _on_scale(true + error, 0.0, 10.0, set_up)


def _on_scale(values: Floats, low: float, high: float, set_up: SetUp) -> Floats:
    inside = np.clip(values, low, high)
    return np.round(inside) if set_up.is_rounded else inside


def _as_courses(
    policy: StallPolicy,
    numbers: PrimaryNumbers,
    due: Floats,
    scores: Floats,
    visits: Floats,
    pain: Floats,
) -> Courses:
    rows, opened = len(scores), float(OPENED_ON.toordinal())
    visit_days = np.tile(opened + visits * DAYS_A_WEEK, (rows, 1))
    unknown, none = np.full(pain.shape, np.nan), np.full((rows, 0), np.nan)
    return Courses(
        opened=np.full(rows, opened),
        look_day=np.tile(opened + due * DAYS_A_WEEK, (rows, 1)),
        look_score=scores,
        pain_day=visit_days,
        pain_worst=pain,
        attended_day=visit_days,
        pain_during=unknown,
        flare=unknown,
        groc_day=none,
        groc_value=none,
        due_weeks=np.tile(np.array(policy.schedule_weeks, float), (rows, 1)),
        **_same_for_all(policy, numbers, rows),
    )


def _same_for_all(
    policy: StallPolicy, numbers: PrimaryNumbers, rows: int
) -> dict[str, Floats]:
    values = {
        "sign": numbers.sign,
        "mcid": numbers.mcid,
        "mdc": numbers.mdc,
        "sem": numbers.sem,
        "goal": np.nan if numbers.goal is None else numbers.goal,
        "best_possible": numbers.best_possible,
        "planned_day": np.nan,
        "red_flag_day": np.nan,
        "then_every": policy.then_every_weeks,
    }
    return {name: np.full(rows, float(value)) for name, value in values.items()}
