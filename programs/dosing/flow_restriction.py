"""Dose of exercise with blood-flow restriction: load, cuff pressure, sets, time.

Only arithmetic: whether it may be used at all is `flow_screen.py`. Pressures in mmHg,
loads in kg, and always from an occlusion pressure measured on that limb.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date

from clinic.sourced.sources import Source

from .limits import DosingPolicy
from .loading import Plates, TargetLoad, target_load
from .no_estimate import NoEstimate, not_whole, outside, plain
from .sources import FLOW_PROTOCOL, FLOW_STAND

_POLICY = DosingPolicy()
SCHEME = (30, 15, 15, 15)  # 75 repetitions: Patterson 2019, read in summaries
SECONDS_PER_REPETITION = 4.0  # 2 s up and 2 s down: PMC7534706, Table 3
MEASURE_AGAIN = "This looks like a typing error: measure the limb again."


@dataclass(frozen=True, slots=True)
class Occlusion:
    """The pressure that closes the limb's artery, as found with that cuff."""

    mmhg: float
    side: str
    measured_on: date
    is_measured: bool


@dataclass(frozen=True, slots=True)
class CuffPressure:
    """The pressure to set, rounded down to whole mmHg."""

    mmhg: int
    exact_mmhg: float
    percent: float
    occlusion: Occlusion
    source: Source = FLOW_STAND


@dataclass(frozen=True, slots=True)
class TimeInflated:
    """How long the cuff stays inflated over the scheme, rests included."""

    seconds: float
    repetitions: int
    sources: tuple[Source, ...] = (FLOW_STAND, FLOW_PROTOCOL)

    @property
    def minutes(self) -> float:
        """The same in minutes."""
        return self.seconds / 60


def cuff_pressure(
    *,
    occlusion: Occlusion | None,
    percent: float | None,
    side: str,
    policy: DosingPolicy = _POLICY,
) -> CuffPressure | NoEstimate:
    """Return the cuff pressure for a share of this limb's measured occlusion."""
    if occlusion is None or not occlusion.is_measured:
        return NoEstimate(
            "The occlusion pressure must be measured on this limb; it is never "
            "estimated from size or blood pressure.",
            "occlusion",
        )
    if occlusion.side != side:
        return NoEstimate("It was measured on the other limb.", "occlusion")
    if refusal := _unlikely(occlusion.mmhg, policy):
        return refusal
    refusal = outside(
        percent,
        low=policy.flow_pressure_least,
        high=policy.flow_pressure_most,
        what="The share of the occlusion pressure",
        unit="%",
        field="percent",
    )
    if refusal or percent is None:
        return refusal or NoEstimate("The share is needed.", "percent")
    exact = round(occlusion.mmhg * percent / 100, 6)
    return CuffPressure(math.floor(exact), exact, percent, occlusion)


def flow_load(
    *,
    one_rm_kg: float | None,
    percent: float | None,
    plates: Plates,
    policy: DosingPolicy = _POLICY,
) -> TargetLoad | NoEstimate:
    """Return the load for a share of 1RM that is allowed under a cuff."""
    return load_outside(percent, policy=policy) or target_load(
        one_rm_kg=one_rm_kg, percent=percent, plates=plates, policy=policy
    )


def load_outside(
    percent: float | None, *, policy: DosingPolicy = _POLICY
) -> NoEstimate | None:
    """Return why a share of 1RM is not allowed under a cuff, or None."""
    return outside(
        percent,
        low=policy.flow_load_least,
        high=policy.flow_load_most,
        what="The load under a cuff",
        unit="% of 1RM",
        field="percent",
    )


def time_inflated(
    *,
    rest_seconds: float | None,
    seconds_per_repetition: float = SECONDS_PER_REPETITION,
    policy: DosingPolicy = _POLICY,
) -> TimeInflated | NoEstimate:
    """Return the time of the whole scheme, the cuff staying inflated in the rests."""
    refusal = outside(
        rest_seconds,
        low=policy.flow_rest_least,
        high=policy.flow_rest_most,
        what="Rest between sets",
        unit="seconds",
        field="rest_seconds",
    ) or outside(
        seconds_per_repetition,
        low=1,
        high=10,
        what="Time for a repetition",
        unit="seconds",
        field="seconds_per_repetition",
    )
    if refusal or rest_seconds is None:
        return refusal or NoEstimate("The rest is needed.", "rest_seconds")
    rests = (len(SCHEME) - 1) * rest_seconds
    seconds = sum(SCHEME) * seconds_per_repetition + rests
    if seconds >= 60 * policy.flow_minutes:
        return _too_long(seconds, policy)
    return TimeInflated(seconds, sum(SCHEME))


def weekly_frequency(
    sessions: int | None, *, policy: DosingPolicy = _POLICY
) -> int | NoEstimate:
    """Return the sessions a week if they are in the range."""
    refusal = not_whole(
        sessions,
        low=policy.flow_week_least,
        high=policy.flow_week_most,
        what="Sessions a week",
        field="sessions",
    )
    if refusal or sessions is None:
        return refusal or NoEstimate("Sessions a week are needed.", "sessions")
    return int(sessions)


def _unlikely(mmhg: float, policy: DosingPolicy) -> NoEstimate | None:
    refusal = outside(
        mmhg,
        low=policy.occlusion_least,
        high=policy.occlusion_most,
        what="The occlusion pressure",
        unit="mmHg",
        field="occlusion",
    )
    if refusal is None:
        return None
    return NoEstimate(f"{refusal.reason} {MEASURE_AGAIN}", refusal.field)


def _too_long(seconds: float, policy: DosingPolicy) -> NoEstimate:
    return NoEstimate(
        f"The cuff would stay inflated for {plain(seconds / 60)} minutes; it must be "
        f"less than {policy.flow_minutes}.",
        "seconds_per_repetition",
    )
