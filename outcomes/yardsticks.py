"""How a measure is judged at a site: the catalogue's numbers, or the site's own."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from .science.measurement_error import sem_from_mdc
from .science.measures import Measure, measure
from .science.policy import StallPolicy
from .science.thresholds import Kind, Threshold, chosen

NAN = float("nan")


@dataclass(frozen=True, slots=True)
class Yardstick:
    """How the scores of a measure are judged at a site, in scale points."""

    sign: float
    mcid: float
    mdc: float
    sem: float
    goal: float
    best_possible: float


def thresholds(about: Measure, policy: StallPolicy) -> tuple[Threshold, Threshold]:
    """Return the detectable and the important change in force, with their sources."""
    is_pain = about.kind == "pain"
    own = {
        Kind.MDC: policy.mdc_for(about.key),
        Kind.MCID: policy.pain_points if is_pain else policy.mcid_for(about.key),
    }
    mdc, mcid = (
        chosen(about.thresholds, kind, own[kind], applies_to=about.main_threshold)
        for kind in (Kind.MDC, Kind.MCID)
    )
    return mdc, mcid


@cache
def yardstick(key: str, policy: StallPolicy) -> Yardstick:
    """Return a measure's numbers, the site's own where it set them."""
    about = measure(key)
    if about.better is None:
        raise ValueError(f"{key} has no direction: it cannot be a primary measure.")
    mdc, mcid = thresholds(about, policy)
    goal = policy.goal_for(key) or about.goal
    return Yardstick(
        sign=about.better.sign,
        mcid=mcid.value,
        mdc=mdc.value,
        # A site's own value states no level; 95 % is then assumed.
        sem=sem_from_mdc(mdc.value, mdc.level or 95),
        goal=NAN if goal is None else goal,
        best_possible=about.best_possible,
    )
