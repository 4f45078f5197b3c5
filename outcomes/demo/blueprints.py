"""The clinic's templates as they are first written down: invented, from the library."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from programs import library
from programs.lines import Line
from programs.proposals import proposed

from .plans import EpisodePlan

CALM, STRONG, RUN, YOUNG = "calm", "strong", "run", "young"
RUNNERS = ("Running", "Orienteering", "Football", "Handball")
RUNS_AGAIN = ("steady", "again", "bilateral", "ceiling", "never_remeasured")
STRAIGHT_TO_STRENGTH = ("moderate", "low")  # irritability


@dataclass(frozen=True, slots=True)
class PhaseDraft:
    """A phase with its lines, before it stands in a programme."""

    title: str
    aim: str
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Blueprint:
    """A programme as the clinic keeps it for later."""

    title: str
    aim: str
    phases: tuple[PhaseDraft, ...]


def blueprint_for(plan: EpisodePlan) -> str:
    """Return the key of the template that fits age, irritability and sport."""
    if plan.story == "adolescent":
        return YOUNG
    if plan.facts.irritability not in STRAIGHT_TO_STRENGTH:
        return CALM
    is_runner = plan.facts.sport in RUNNERS
    return RUN if is_runner and plan.story in RUNS_AGAIN else STRONG


def dose(key: str, **more: Any) -> Line:
    """Return the library's lower dose of an exercise, with what differs."""
    return replace(proposed(library.exercise(key)), **more)


def weighted(key: str, kg: float, **more: Any) -> Line:
    """Return an exercise with a load in kg, and the plates that the clinic has."""
    return dose(key, load="kg", load_kg=kg, plate_step_kg=2.5, **more)


@cache
def blueprints() -> dict[str, Blueprint]:
    """Return the templates by key."""
    return {CALM: _calm(), STRONG: _strong(), RUN: _run(), YOUNG: _young()}


def _doses(*keys: str) -> tuple[Line, ...]:
    return tuple(dose(key) for key in keys)


def _calm() -> Blueprint:
    settle = PhaseDraft(
        "Settle",
        "Little and often, until ordinary days are calm.",
        _doses(
            "education_pain_rule", "straight_leg_raise", "side_lying_clam", "bridge"
        ),
    )
    build = PhaseDraft(
        "Build",
        "Standing on it again, in a small range.",
        _doses("squat_small", "side_bridge_knees"),
    )
    load = PhaseDraft(
        "Load",
        "Enough strength for stairs and slopes.",
        _doses("split_squat_half", "hip_thrust"),
    )
    aim = "Stairs and sitting without paying for it."
    return Blueprint("Calm first, then strong", aim, (settle, build, load))


def _strong() -> Blueprint:
    first = PhaseDraft(
        "First weeks",
        "Learn the movements, keep it calm.",
        (
            weighted("leg_press_small", 40),
            dose("side_lying_leg_lift"),
            dose("step_up_low"),
        ),
    )
    heavier = PhaseDraft(
        "Heavier",
        "Fewer repetitions with more load.",
        (
            weighted("leg_press_deep", 50),
            dose("step_down_stair"),
            weighted("hip_thrust", 25),
        ),
    )
    aim = "Strength for stairs, lifting and sport."
    return Blueprint("Strong thighs and hips", aim, (first, heavier))


def _run() -> Blueprint:
    first = PhaseDraft(
        "Walk and run",
        "Short runs, every other day at most.",
        _doses("walk_run_first", "squat_half", "calf_raise"),
    )
    more = PhaseDraft(
        "Run more",
        "Longer runs, strength beside them.",
        _doses("walk_run_mostly", "split_squat_half"),
    )
    aim = "Running without a price on the next day."
    return Blueprint("Back to running", aim, (first, more))


def _young() -> Blueprint:
    count = PhaseDraft(
        "Count the week",
        "Sport and jumps are written down; strength begins small.",
        _doses("load_sport", "squat_small", "side_lying_leg_lift"),
    )
    stronger = PhaseDraft(
        "Stronger",
        "Strength on one leg, sport as agreed.",
        _doses("step_up_stair", "bridge_single_leg"),
    )
    aim = "Keep the sport, count the load."
    return Blueprint("Growing and sore", aim, (count, stronger))
