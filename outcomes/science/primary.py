"""The numbers of a primary measure that a course is judged by, under one policy."""

from __future__ import annotations

from dataclasses import dataclass

from .measurement_error import sem_from_mdc
from .measures import Measure
from .policy import StallPolicy
from .thresholds import Kind


@dataclass(frozen=True, slots=True)
class PrimaryNumbers:
    """Thresholds in points of the measure, the site's where it has set its own."""

    mcid: float
    mdc: float
    sem: float
    goal: float | None
    best_possible: float
    sign: int


def primary_numbers(measure: Measure, policy: StallPolicy) -> PrimaryNumbers:
    """Return the numbers a course on this measure is judged by.

    A site's own detectable change is taken at the confidence level of the
    catalogue's. Raises ValueError for a measure without thresholds.
    """
    mdc = measure.threshold(Kind.MDC)
    mcid = measure.threshold(Kind.MCID)
    if mdc is None or mcid is None or measure.better is None:
        raise ValueError(f"{measure.key} has no thresholds to judge a course by")
    detectable = policy.mdc_for(measure.key) or mdc.value
    goal = policy.goal_for(measure.key)
    return PrimaryNumbers(
        mcid=policy.mcid_for(measure.key) or mcid.value,
        mdc=detectable,
        sem=sem_from_mdc(detectable, mdc.level or 95),
        goal=measure.goal if goal is None else goal,
        best_possible=measure.best_possible,
        sign=measure.better.sign,
    )
