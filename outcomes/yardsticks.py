"""How a measure is judged at a site: the catalogue's numbers, or the site's own."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from .science.measurement_error import sem_from_mdc
from .science.measures import measure
from .science.policy import StallPolicy
from .science.thresholds import Kind

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


@cache
def yardstick(key: str, policy: StallPolicy) -> Yardstick:
    """Return a measure's numbers, the site's own where it set them."""
    about = measure(key)
    mdc, mcid = about.threshold(Kind.MDC), about.threshold(Kind.MCID)
    if not (mdc and mcid and about.better):
        raise ValueError(f"{key} cannot be a primary measure.")
    size = policy.mdc_for(key) or mdc.value
    goal = policy.goal_for(key) or about.goal
    return Yardstick(
        sign=about.better.sign,
        mcid=policy.mcid_for(key) or mcid.value,
        mdc=size,
        sem=sem_from_mdc(size, mdc.level or 95),
        goal=NAN if goal is None else goal,
        best_possible=about.best_possible,
    )
