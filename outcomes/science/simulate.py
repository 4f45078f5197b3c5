"""How often a policy prompts on courses whose truth is known.

Invented cases are judged by the same `evaluate` as real ones, once a week. Real
errors are not independent and shrink near the ends of a scale, so the shares guide
a choice of settings and predict no clinic's figures.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from math import sqrt
from types import MappingProxyType

import numpy as np

from .policy import StallPolicy
from .progress import Flags
from .rules import Rule
from .simulated_courses import (
    OPENED_ON,
    RATES,
    SEED,
    SetUp,
    Truth,
    simulate_courses,
    statements,
)
from .stall import evaluate

SIMULATED = (
    Rule.WORSENING,
    Rule.ONE_LOW_LOOK,
    Rule.TARGET_NOT_REACHED,
    Rule.NO_MEASURABLE_PROGRESS,
    Rule.PLATEAU_SUPPORTED,
    Rule.REMEASURE_OVERDUE,
)
NOT_SIMULATED: Mapping[Rule, str] = MappingProxyType(
    {
        Rule.RED_FLAG: "depends on answers to the red-flag screen",
        Rule.PAIN_ABOVE_LIMIT: "depends on the load that is chosen",
        Rule.NOT_SEEN: "depends on attendance; every visit is attended here",
        Rule.BASELINE_MISSING: "every baseline is taken on the opening day here",
    }
)


@dataclass(frozen=True, slots=True)
class Rate:
    """A share of cases with its simulation error (one standard error)."""

    share: float
    error: float


@dataclass(frozen=True, slots=True)
class Row:
    """How often one finding prompts; rates run in the order of `Truth`.

    `needless` is, of those prompted at the given week in the stated mix, the share
    that is truly on course or improving fast; None where nobody is prompted.
    """

    rule: Rule | None
    title: str
    ever: tuple[Rate, ...]
    at_week: tuple[Rate, ...]
    caseload_ever: Rate
    caseload_at_week: Rate
    needless: float | None


@dataclass(frozen=True, slots=True)
class Characteristics:
    """The prompts of one policy on simulated courses, with the set-up in words."""

    policy: StallPolicy
    set_up: SetUp
    truths: tuple[Truth, ...]
    rows: tuple[Row, ...]
    statements: tuple[str, ...]
    not_simulated: tuple[tuple[Rule, str], ...]


def characteristics(
    policy: StallPolicy,
    *,
    cases: int = 4000,
    weeks: int = 26,
    seed: int = SEED,
    at_week: int | None = None,
    measure_key: str = "akps",
    missed: float = 0.0,
) -> Characteristics:
    """Simulate a policy; the same seed gives the same result.

    `cases` per true course; `at_week` is by default the planned length of care;
    `missed` is the share of re-measures that are missed. Raises ValueError for a
    set-up that cannot be simulated. Takes some seconds at the defaults.
    """
    set_up = SetUp(
        measure_key=measure_key,
        cases=cases,
        weeks=weeks,
        at_week=min(policy.planned_weeks, weeks) if at_week is None else at_week,
        seed=seed,
        missed=missed,
    )
    return simulate(policy, set_up)


def simulate(policy: StallPolicy, set_up: SetUp) -> Characteristics:
    """Return the prompts of a policy on the courses of a set-up."""
    ever, at_week = _prompts(policy, set_up)
    rows = [
        _row(rule, ever[..., column], at_week[..., column], set_up)
        for column, rule in enumerate(SIMULATED)
    ]
    on_progress = slice(0, SIMULATED.index(Rule.REMEASURE_OVERDUE))
    any_ever: Flags = np.any(ever[..., on_progress], axis=-1)
    any_at_week: Flags = np.any(at_week[..., on_progress], axis=-1)
    return Characteristics(
        policy=policy,
        set_up=set_up,
        truths=tuple(Truth),
        rows=(*rows, _row(None, any_ever, any_at_week, set_up)),
        statements=statements(policy, set_up),
        not_simulated=tuple(NOT_SIMULATED.items()),
    )


def _prompts(policy: StallPolicy, set_up: SetUp) -> tuple[Flags, Flags]:
    """Return, per truth, case and simulated rule, whether prompted ever and then."""
    courses = simulate_courses(policy, set_up)
    columns = [rule.rank - 1 for rule in SIMULATED]
    ever = np.zeros((len(courses), len(columns)), dtype=np.bool_)
    at_week = ever.copy()
    for week in range(set_up.weeks + 1):
        on = OPENED_ON + timedelta(weeks=week)
        flags = evaluate(courses, policy=policy, on=on).flags[:, columns]
        ever |= flags
        if week == set_up.at_week:
            at_week = flags
    shape = (len(Truth), set_up.cases, len(columns))
    return ever.reshape(shape), at_week.reshape(shape)


def _row(rule: Rule | None, ever: Flags, now: Flags, set_up: SetUp) -> Row:
    """Return the rates of one finding from flags (truths, cases)."""
    ever_rates = tuple(rate(flags) for flags in ever)
    now_rates = tuple(rate(flags) for flags in now)
    caseload_now = _in_mix(now_rates, set_up.mix)
    well = sum(
        set_up.mix[truth] * found.share
        for truth, found in zip(Truth, now_rates, strict=True)
        if RATES[truth] > 0
    )
    return Row(
        rule=rule,
        title=rule.title if rule else "Any of these on progress",
        ever=ever_rates,
        at_week=now_rates,
        caseload_ever=_in_mix(ever_rates, set_up.mix),
        caseload_at_week=caseload_now,
        needless=well / caseload_now.share if caseload_now.share else None,
    )


def rate(flags: Flags) -> Rate:
    """Return the share of True with its standard error sqrt(p (1 - p) / n)."""
    share = float(flags.mean())
    return Rate(share=share, error=sqrt(share * (1 - share) / flags.size))


def _in_mix(rates: tuple[Rate, ...], mix: Mapping[Truth, float]) -> Rate:
    pairs = [(mix[truth], found) for truth, found in zip(Truth, rates, strict=True)]
    return Rate(
        share=sum(weight * found.share for weight, found in pairs),
        error=sqrt(sum((weight * found.error) ** 2 for weight, found in pairs)),
    )
