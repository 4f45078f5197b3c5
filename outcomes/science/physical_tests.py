"""Physical tests: what is measured, and how trials become one result.

What each test is stands in `physical/*.toml`, read by `physical_file.py`. "Cannot
say" is a NoResult with its reason. Forces in N, lever arms in m, torques in Nm, body
weight in kg.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from clinic.sourced.sources import Source

from .measures import Belongs, Direction
from .phrases import number_words
from .thresholds import Threshold

NEWTONS_PER_KG = 9.80665  # standard gravity, exact by definition
BODY_KG = (15.0, 300.0)  # guard against typing errors, project assumption


class TrialRule(StrEnum):
    """How repeated trials become one result."""

    BEST = "best"
    MEAN = "mean"


class Takes(StrEnum):
    """Whether a test is done on both sides or by the person as a whole."""

    BOTH_SIDES = "both_sides"
    PERSON = "person"


@dataclass(frozen=True, slots=True)
class Trials:
    """How many trials are planned, which one counts, and who says so."""

    planned: int
    rule: TrialRule
    note: str
    source: Source


@dataclass(frozen=True, slots=True)
class LeverArm:
    """From where to where the arm is measured, and its guard in m."""

    low: float
    high: float
    from_to: str


@dataclass(frozen=True, slots=True)
class PhysicalTest:
    """One test; `is_maximum` says that a trial stopped by pain does not count."""

    key: str
    edition: int
    name: str
    short_name: str
    quantity: str
    unit: str
    low: float
    high: float
    guard_note: str
    better: Direction
    belongs: Belongs
    takes: Takes
    is_maximum: bool
    has_symmetry: bool
    how: str
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    trials: Trials
    lever_arm: LeverArm | None
    thresholds: tuple[Threshold, ...]
    thresholds_note: str
    source: Source


@dataclass(frozen=True, slots=True)
class Trial:
    """One trial in the test's unit."""

    value: float
    is_stopped_by_pain: bool = False


@dataclass(frozen=True, slots=True)
class Summary:
    """The result of a test: all trials are kept, `counted` says which made it."""

    value: float
    unit: str
    rule: TrialRule
    trials: tuple[Trial, ...]
    counted: tuple[Trial, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Torque:
    """Force times lever arm, and per kg of body weight where that is known."""

    nm: float
    nm_per_kg: float | None


@dataclass(frozen=True, slots=True)
class Symmetry:
    """The index side in per cent of the other side."""

    percent: float
    sentence: str


@dataclass(frozen=True, slots=True)
class NoResult:
    """No number can be given, and why."""

    reason: str


def summarise(test: PhysicalTest, trials: Sequence[Trial]) -> Summary | NoResult:
    """Make one result of the trials by the test's own rule."""
    if not trials:
        return NoResult("No trial is recorded.")
    for trial in trials:
        if refusal := _outside(trial.value, test.low, test.high, test.unit, "A trial"):
            return refusal
    stopped = sum(trial.is_stopped_by_pain for trial in trials)
    counted = tuple(t for t in trials if not (test.is_maximum and t.is_stopped_by_pain))
    if not counted:
        return NoResult("Pain stopped every trial, so none of them is a maximum.")
    value = _result(test, [trial.value for trial in counted])
    notes = _notes(test, stopped=stopped, counted=len(counted))
    return Summary(value, test.unit, test.trials.rule, tuple(trials), counted, notes)


def in_newtons(force: float, unit: str) -> float | NoResult:
    """Return a force shown in N or kg as N."""
    if unit not in ("N", "kg"):
        return NoResult("The device must show N or kg.")
    if not _is_number(force):
        return NoResult("The force must be a number.")
    return force * NEWTONS_PER_KG if unit == "kg" else force


def torque(
    test: PhysicalTest,
    *,
    force_n: float,
    lever_arm_m: float | None,
    body_kg: float | None = None,
) -> Torque | NoResult:
    """Return force times lever arm, and per kg of body weight where it is given."""
    arm = test.lever_arm
    if arm is None:
        return NoResult(f"{test.short_name} has no lever arm.")
    if lever_arm_m is None:
        return NoResult("Without a lever arm there is force, but no torque.")
    refusal = _outside(
        force_n, test.low, test.high, test.unit, "The force"
    ) or _outside(lever_arm_m, arm.low, arm.high, "m", "The lever arm")
    if refusal is None and body_kg is not None:
        refusal = _outside(body_kg, *BODY_KG, "kg", "Body weight")
    if refusal:
        return refusal
    nm = force_n * lever_arm_m
    return Torque(nm, None if body_kg is None else nm / body_kg)


def limb_symmetry(
    test: PhysicalTest, *, index_side: float | None, other_side: float | None
) -> Symmetry | NoResult:
    """Return index side / other side × 100; of torques where lever arms differ."""
    if not test.has_symmetry:
        return NoResult(f"{test.short_name} has no limb symmetry.")
    if index_side is None or other_side is None:
        return NoResult("Limb symmetry needs both sides.")
    if not (_is_number(index_side) and _is_number(other_side)):
        return NoResult("Both sides must be numbers.")
    if index_side < 0 or other_side <= 0:
        return NoResult("The other side must be above 0 to compare with it.")
    percent = 100 * index_side / other_side
    sentence = (
        f"The index side reaches {number_words(percent)} per cent of the other side, "
        "which may itself be weak."
    )
    return Symmetry(percent, sentence)


def _result(test: PhysicalTest, values: Sequence[float]) -> float:
    if test.trials.rule is TrialRule.MEAN:
        return math.fsum(values) / len(values)
    return max(values) if test.better is Direction.HIGHER else min(values)


def _notes(test: PhysicalTest, *, stopped: int, counted: int) -> tuple[str, ...]:
    """Say what is unusual about the trials behind a result."""
    notes = []
    if stopped and test.is_maximum:
        notes.append(f"{stopped} stopped by pain and not counted: no maximum.")
    elif stopped:
        notes.append(f"{stopped} stopped early by pain.")
    if counted < test.trials.planned:
        notes.append(f"{counted} of {test.trials.planned} planned trials.")
    return tuple(notes)


def _is_number(value: object) -> bool:
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    return is_number and math.isfinite(value)  # type: ignore[arg-type]


def _outside(
    value: float, low: float, high: float, unit: str, what: str
) -> NoResult | None:
    span = f"{number_words(low, decimals=2)} to {number_words(high, decimals=2)} {unit}"
    if not _is_number(value):
        return NoResult(f"{what} must be a number, {span}.")
    if not low <= value <= high:
        shown = number_words(value, decimals=2)
        return NoResult(f"{what} is {shown}; it must be {span}.")
    return None
