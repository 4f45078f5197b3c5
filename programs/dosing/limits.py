"""The numbers a site may set for dose and response, each with its reason."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

from clinic.sourced.policy_numbers import (
    PolicyError,
    Shape,
    choice,
    fields_of,
    read_values,
    setting,
)
from clinic.sourced.sources import CONFIRMED, MEMORY

from .flow_limits import FlowLimits

FORMULA_KEYS = (
    "epley",
    "brzycki",
    "lombardi",
    "oconner",
    "wathan",
    "mayhew",
    "lander",
)

_PAIN = "Pain and the next morning"
_STEPS = "Steps up and down"
_MAXIMUM = "Repetition maximum"


@dataclass(frozen=True, slots=True, kw_only=True)
class DosingPolicy(FlowLimits):
    """Every number that dose and response use; the defaults are the project's own."""

    easy_pain: float = setting(
        2.0,
        "Pain during exercise counts as easy up to",
        unit="points",
        allowed=(0.0, 3.0),
        group=_PAIN,
        shape=Shape.NUMBER,
        mark=MEMORY,
        why="Zones for patellofemoral pain (Thomeé 1997). Some public pages use 3.",
    )
    pain_limit: float = setting(
        5.0,
        "and as too much above",
        unit="points",
        allowed=(2.0, 5.0),
        group=_PAIN,
        shape=Shape.NUMBER,
        mark=MEMORY,
        why="The same zones (Thomeé 1997); a public page on knee-cap pain says never "
        "above 5.",
    )
    morning_flare: float = setting(
        2.0,
        "The next morning is a flare from a rise of",
        unit="points above usual",
        allowed=(1.0, 3.0),
        group=_PAIN,
        shape=Shape.NUMBER,
        why="One point may be the error of the rating; two are held to be real. A "
        "smaller rise is a mild flare.",
    )
    usual_rise: float = setting(
        1.0,
        "No step up while usual pain has risen by",
        unit="points",
        allowed=(0.5, 3.0),
        group=_PAIN,
        shape=Shape.NUMBER,
        mark=MEMORY,
        why="No rise from week to week (Silbernagel 2007). Held against the mean of "
        "the earlier sessions in the window.",
    )
    irritable_pain: float = setting(
        7.0,
        "Usual pain counts as high irritability from",
        unit="points",
        allowed=(4.0, 10.0),
        group=_PAIN,
        shape=Shape.NUMBER,
        mark=MEMORY,
        why="Cut-off of the shoulder guideline (Kelley 2013).",
    )
    calm_sessions: int = setting(
        2,
        "Calm sessions in a row before a step up",
        unit="sessions",
        allowed=(2, 6),
        group=_STEPS,
        mark=MEMORY,
        why="Two, as is usually said beside the published step; the paper's own "
        "wording was not checked.",
    )
    window_days: int = setting(
        21,
        "Sessions count as running when within",
        unit="days",
        allowed=(7, 60),
        group=_STEPS,
        why="After three weeks without a session the answer of the knee is stale.",
    )
    repetitions_over: int = setting(
        1,
        "The target is beaten by at least",
        unit="repetitions",
        allowed=(1, 4),
        group=_STEPS,
        mark=CONFIRMED,
        why="One or two repetitions over the target (Ratamess 2009).",
    )
    step_least: float = setting(
        2.0,
        "Raise the load by at least",
        unit="per cent",
        allowed=(2.0, 10.0),
        group=_STEPS,
        shape=Shape.NUMBER,
        mark=CONFIRMED,
        why="2 to 10 per cent (Ratamess 2009). This end for small muscles or an "
        "irritable knee (from memory).",
    )
    step_most: float = setting(
        10.0,
        "and by at most",
        unit="per cent",
        allowed=(2.0, 10.0),
        group=_STEPS,
        shape=Shape.NUMBER,
        mark=CONFIRMED,
        why="2 to 10 per cent (Ratamess 2009). This end for large muscles and low "
        "irritability (from memory).",
    )
    cut_least: int = setting(
        20,
        "Ease off by at least",
        unit="per cent of the volume",
        allowed=(10, 50),
        group=_STEPS,
        why="Large enough to be felt, small enough to keep the training.",
    )
    cut_most: int = setting(
        30,
        "and by at most",
        unit="per cent of the volume",
        allowed=(10, 50),
        group=_STEPS,
        why="As for the lower end.",
    )
    formula: str = choice(
        "epley",
        "Formula for the repetition maximum",
        choices=FORMULA_KEYS,
        group=_MAXIMUM,
        why="One formula over time, so that a change is the patient's and not the "
        "formula's. None is known to be best for this condition.",
    )
    most_repetitions: int = setting(
        10,
        "Most repetitions of a set that gives an estimate",
        unit="repetitions",
        allowed=(1, 10),
        group=_MAXIMUM,
        mark=CONFIRMED,
        why="No more than 10 in such equations; 5 predicted best (Reynolds 2006).",
    )
    most_load: int = setting(
        500,
        "A load is taken for a typing error above",
        unit="kg",
        allowed=(50, 1000),
        group=_MAXIMUM,
        why="More than a leg press in a clinic holds.",
    )

    def to_values(self) -> dict[str, Any]:
        """Return the policy as plain values that JSON can hold."""
        return {item.name: getattr(self, item.name) for item in fields(self)}

    @classmethod
    def from_values(cls, values: Mapping[str, object]) -> DosingPolicy:
        """Return the policy typed into a form or kept as JSON.

        A field left out keeps its default. Raises PolicyError with a sentence
        for every field that is unknown, malformed, out of range or at odds.
        """
        policy = cls(**read_values(DOSING_FIELDS, values))
        if errors := _at_odds(policy):
            raise PolicyError(errors)
        return policy


DOSING_FIELDS = fields_of(DosingPolicy)

_PAIRS = (
    ("flow_load_least", "flow_load_most"),
    ("flow_pressure_least", "flow_pressure_most"),
    ("flow_rest_least", "flow_rest_most"),
    ("flow_week_least", "flow_week_most"),
    ("step_least", "step_most"),
    ("cut_least", "cut_most"),
)


def _at_odds(policy: DosingPolicy) -> dict[str, str]:
    """Return sentences about values that are each possible but not together."""
    errors = {
        most: f"Must not be below the lower end, {getattr(policy, least):g}."
        for least, most in _PAIRS
        if getattr(policy, most) < getattr(policy, least)
    }
    if policy.pain_limit <= policy.easy_pain:
        errors["pain_limit"] = f"Must be above the easy zone, {policy.easy_pain:g}."
    return errors
