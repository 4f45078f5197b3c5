"""The numbers a site may set for blood-flow restriction, each with its reason.

A site may narrow the published ranges, never widen them.
"""

from __future__ import annotations

from dataclasses import dataclass

from clinic.sourced.policy_numbers import setting
from clinic.sourced.sources import SECONDARY

_FLOW = "Blood-flow restriction"
_STAND = "The position stand's range (Patterson 2019, doi:10.3389/fphys.2019.00533), "


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowLimits:
    """Limits of load, pressure, rest and time with a cuff."""

    flow_load_least: int = setting(
        20,
        "Load at least",
        unit="per cent of 1RM",
        allowed=(20, 40),
        group=_FLOW,
        mark=SECONDARY,
        why=_STAND + "read in summaries.",
    )
    flow_load_most: int = setting(
        40,
        "Load at most",
        unit="per cent of 1RM",
        allowed=(20, 40),
        group=_FLOW,
        mark=SECONDARY,
        why=_STAND + "read in summaries; some of them go to 50, this project does not.",
    )
    flow_pressure_least: int = setting(
        40,
        "Cuff pressure at least",
        unit="per cent of the measured occlusion pressure",
        allowed=(40, 80),
        group=_FLOW,
        mark=SECONDARY,
        why=_STAND + "read in summaries.",
    )
    flow_pressure_most: int = setting(
        80,
        "Cuff pressure at most",
        unit="per cent of the measured occlusion pressure",
        allowed=(40, 80),
        group=_FLOW,
        mark=SECONDARY,
        why=_STAND + "read in summaries.",
    )
    occlusion_least: int = setting(
        80,
        "Occlusion pressure is taken for a typing error below",
        unit="mmHg",
        allowed=(80, 160),
        group=_FLOW,
        why="Thighs of 160 to 278 mmHg were seen (Arthrosc Sports Med Rehabil "
        "2022;4(3):e1127-e1132). The guard is wider and says: measure again.",
    )
    occlusion_most: int = setting(
        300,
        "and above",
        unit="mmHg",
        allowed=(200, 300),
        group=_FLOW,
        why="As for the lower guard.",
    )
    flow_rest_least: int = setting(
        30,
        "Rest between sets at least",
        unit="seconds",
        allowed=(30, 60),
        group=_FLOW,
        mark=SECONDARY,
        why=_STAND + "read in summaries.",
    )
    flow_rest_most: int = setting(
        60,
        "Rest between sets at most",
        unit="seconds",
        allowed=(30, 60),
        group=_FLOW,
        mark=SECONDARY,
        why=_STAND + "read in summaries. The cuff usually stays inflated.",
    )
    flow_minutes: int = setting(
        20,
        "Cuff inflated for less than",
        unit="minutes",
        allowed=(5, 20),
        group=_FLOW,
        mark=SECONDARY,
        why="For the leg, as summaries of the position stand give it; then about 3 "
        "minutes without pressure.",
    )
    flow_week_least: int = setting(
        2,
        "Sessions a week at least",
        unit="sessions",
        allowed=(2, 3),
        group=_FLOW,
        mark=SECONDARY,
        why=_STAND + "read in summaries, for more than three weeks.",
    )
    flow_week_most: int = setting(
        3,
        "Sessions a week at most",
        unit="sessions",
        allowed=(2, 3),
        group=_FLOW,
        mark=SECONDARY,
        why=_STAND + "read in summaries. The short course of one or two sessions a "
        "day is not offered.",
    )
    screen_months: int = setting(
        3,
        "The safety screen is valid for",
        unit="months",
        allowed=(1, 3),
        group=_FLOW,
        why="Risks such as a new medicine or a journey come within months. An "
        "adverse event ends it earlier.",
    )
