"""The numbers of a primary measure that a course is judged by, under one policy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from .comparison import COMMON_FOR_AVERAGE, Point, rates_the_same
from .mcid import Change
from .measurement_error import sem_from_mdc
from .measures import Measure, measure
from .policy import StallPolicy
from .thresholds import Kind, Threshold, chosen


@dataclass(frozen=True, slots=True)
class PrimaryNumbers:
    """Thresholds in points of the measure, the site's where it has set its own."""

    mcid: float
    mdc: float
    sem: float
    goal: float | None
    best_possible: float
    sign: int


def thresholds_in_force(
    about: Measure, policy: StallPolicy, *, is_single: bool = False
) -> tuple[Threshold, Threshold]:
    """Return the detectable and the important change of a measure, with sources.

    Those of a single activity of the PSFS are the catalogue's, never a site's own.
    """
    if is_single:
        mdc, mcid = (
            chosen(about.thresholds, kind, None, applies_to="single")
            for kind in (Kind.MDC, Kind.MCID)
        )
        return mdc, mcid
    own = {
        Kind.MDC: policy.mdc_for(about.key),
        Kind.MCID: policy.pain_points
        if about.kind == "pain"
        else policy.mcid_for(about.key),
    }
    mdc, mcid = (
        chosen(about.thresholds, kind, own[kind], applies_to=about.main_threshold)
        for kind in (Kind.MDC, Kind.MCID)
    )
    return mdc, mcid


def limits_shown(
    about: Measure,
    points: Sequence[Point],
    change: Change | None,
    policy: StallPolicy,
) -> tuple[Threshold, Threshold] | None:
    """Return the limits to draw around a first score: those the verdict was held to.

    None where the patient rated other activities than at first: the verdict covers
    only those rated both times, and the first score is not their mean.
    """
    if not about.has_own_items or not points:
        return thresholds_in_force(about, policy)
    if change is None or change.mdc is None or change.mcid is None:
        rated = len(points[0].answers or {})
        return thresholds_in_force(about, policy, is_single=rated < COMMON_FOR_AVERAGE)
    if change.gain is None or not rates_the_same(points[0], points[-1]):
        return None
    return change.mdc, change.mcid


@cache
def primary_numbers(key: str, policy: StallPolicy) -> PrimaryNumbers:
    """Return the numbers a course on this measure is judged by.

    A site's own detectable change is taken at the confidence level of the
    catalogue's. Raises ValueError for a measure without a direction.
    """
    about = measure(key)
    level = about.threshold(Kind.MDC)
    if about.better is None or level is None:
        raise ValueError(f"{key} has no thresholds to judge a course by")
    mdc, mcid = thresholds_in_force(about, policy)
    goal = policy.goal_for(key)
    return PrimaryNumbers(
        mcid=mcid.value,
        mdc=mdc.value,
        sem=sem_from_mdc(mdc.value, level.level or 95),
        goal=about.goal if goal is None else goal,
        best_possible=about.best_possible,
        sign=about.better.sign,
    )
