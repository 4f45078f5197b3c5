"""What exactly to change: one variable, up or down, never two."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from .flow_restriction import SCHEME
from .limits import DosingPolicy
from .loading import (
    Irritability,
    LoadStep,
    Muscle,
    Plates,
    is_target_beaten,
    load_step,
)
from .no_estimate import NoEstimate, plain
from .response_rules import Fired
from .volume import SmallerDose, smaller_dose

# Project assumption: cutting the same exercise again and again is no plan.
NOTHING_EASIER = (
    "Nothing easier stands below it in the library: change to another exercise, or "
    "leave this one out until the knee has settled."
)


class Variable(StrEnum):
    """The one thing that a suggestion changes."""

    RUNG = "rung"
    LOAD = "load"
    VOLUME = "volume"


@dataclass(frozen=True, slots=True)
class Rung:
    """A neighbouring entry of the ladder."""

    key: str
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Dose:
    """The line as prescribed; `repetitions` is None for a hold, loads in kg."""

    sets: int | None
    repetitions: int | None
    muscle: Muscle
    load_kg: float | None = None
    plates: Plates | None = None
    easier: Rung | None = None
    harder: Rung | None = None
    is_flow_restricted: bool = False
    one_rm_kg: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One change: exactly one of `rung`, `load` and `volume` can be filled.

    A cut of volume without whole numbers that fit leaves `volume` empty; the
    sentence then says by how much. Below the lowest rung `rung` is empty. Under a
    cuff the cut is the last set.
    """

    variable: Variable
    sentence: str
    rung: Rung | None = None
    load: LoadStep | None = None
    volume: SmallerDose | None = None


def step_down(dose: Dose, *, is_repeated: bool, policy: DosingPolicy) -> Change:
    """Cut the volume; the second time running, take the easier neighbour instead.

    On the lowest rung no further cut is named: the exercise itself is in question.
    """
    if is_repeated and dose.easier:
        sentence = f"Go down to {dose.easier.name}, other things as they are."
        return Change(variable=Variable.RUNG, sentence=sentence, rung=dose.easier)
    if is_repeated:
        return Change(variable=Variable.RUNG, sentence=NOTHING_EASIER)
    cut = _cut(dose, policy)
    if isinstance(cut, NoEstimate):
        sentence = (
            f"Do {policy.cut_least} to {policy.cut_most} per cent less next time, "
            "other things as they are."
        )
        return Change(variable=Variable.VOLUME, sentence=sentence)
    sentence = (
        f"Do {cut.sets} × {cut.repetitions} next time, {plain(cut.percent)} per cent "
        "less, other things as they are."
    )
    if dose.is_flow_restricted:
        sentence = f"Leave out the last set, {plain(cut.percent)} per cent less."
    return Change(variable=Variable.VOLUME, sentence=sentence, volume=cut)


def step_up(
    dose: Dose,
    *,
    repetitions_over: Sequence[int | None],
    irritability: Irritability,
    policy: DosingPolicy,
) -> Change | Fired:
    """Raise the load where there is one, else take the harder neighbour."""
    is_counted = all(over is not None for over in repetitions_over)
    is_loaded = dose.load_kg is not None or dose.is_flow_restricted
    if is_counted and not is_target_beaten(repetitions_over, policy=policy):
        return Fired("target_not_beaten")
    if not is_counted and (
        is_loaded or any(over is not None for over in repetitions_over)
    ):
        return Fired("repetitions_not_recorded")
    if is_loaded:
        return _more_load(dose, irritability, policy)
    if dose.harder is None:
        return Fired("no_step_left")
    sentence = f"Go up to {dose.harder.name}, other things as they are."
    return Change(variable=Variable.RUNG, sentence=sentence, rung=dose.harder)


def _more_load(
    dose: Dose, irritability: Irritability, policy: DosingPolicy
) -> Change | Fired:
    if dose.is_flow_restricted and (dose.load_kg is None or dose.one_rm_kg is None):
        return Fired("flow_load_unknown")
    if dose.plates is None:
        return Fired("no_fitting_plate", "The plates at hand are not recorded.")
    step = load_step(
        load_kg=dose.load_kg,
        plates=dose.plates,
        muscle=dose.muscle,
        irritability=irritability,
        policy=policy,
    )
    if isinstance(step, NoEstimate):
        return Fired("no_fitting_plate", step.reason)
    if dose.is_flow_restricted and not _is_light(step.to_kg, dose.one_rm_kg, policy):
        return Fired("flow_load_at_limit")
    return Change(variable=Variable.LOAD, sentence=step.sentence, load=step)


def _is_light(load_kg: float, one_rm_kg: float | None, policy: DosingPolicy) -> bool:
    """Tell whether a load stays within the most that is used under a cuff."""
    if one_rm_kg is None:
        return False
    return 100 * load_kg <= policy.flow_load_most * one_rm_kg


def _cut(dose: Dose, policy: DosingPolicy) -> SmallerDose | NoEstimate:
    if not dose.is_flow_restricted:
        return smaller_dose(sets=dose.sets, repetitions=dose.repetitions, policy=policy)
    percent = 100 * SCHEME[-1] / sum(SCHEME)
    if policy.cut_least <= percent <= policy.cut_most:
        return SmallerDose(len(SCHEME) - 1, SCHEME[-1], percent)
    return NoEstimate("The last set is not a share that fits.", "sets")
