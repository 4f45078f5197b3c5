"""Loads that can be put on: a target from a percentage, and the next step.

Loads in kg. A load is always one that the equipment can hold: its empty weight plus
whole plates.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from clinic.sourced.sources import Source

from .limits import DosingPolicy
from .no_estimate import NoEstimate, outside, plain
from .sources import PROGRESSION, STEP_ENDS

_POLICY = DosingPolicy()
SMALLEST_PLATE_KG, LARGEST_PLATE_KG = 0.1, 50


class Muscle(StrEnum):
    """Size of the muscle group that an entry trains; decides the end of the step."""

    SMALL = "small"
    LARGE = "large"


class Irritability(StrEnum):
    """How easily the knee is upset (clinical reference 11.2)."""

    LOW = "low"
    MODERATE = "moderate"
    HIGH = "high"


@dataclass(frozen=True, slots=True)
class Plates:
    """What the equipment holds: empty weight and the smallest step up, kg."""

    step_kg: float
    empty_kg: float = 0.0

    def at_or_below(self, exact: Decimal) -> float | None:
        """Return the heaviest load not above `exact`, None if even empty is above."""
        step, empty = _decimal(self.step_kg), _decimal(self.empty_kg)
        if exact < empty:
            return None
        return float(empty + (exact - empty) // step * step)

    def next_above(self, load_kg: float) -> float:
        """Return the next load above this one."""
        below = self.at_or_below(_decimal(load_kg))
        if below is None:
            return self.empty_kg
        return float(_decimal(below) + _decimal(self.step_kg))

    @property
    def fault(self) -> NoEstimate | None:
        """Why this is no equipment, else None."""
        return outside(
            self.step_kg,
            low=SMALLEST_PLATE_KG,
            high=LARGEST_PLATE_KG,
            what="The smallest plate",
            unit="kg",
            field="step_kg",
        ) or outside(
            self.empty_kg,
            low=0,
            high=_POLICY.most_load,
            what="The empty weight",
            unit="kg",
            field="empty_kg",
        )


@dataclass(frozen=True, slots=True)
class TargetLoad:
    """A load for a percentage: exact, and rounded down to what can be put on."""

    exact_kg: float
    kg: float
    percent: float
    percent_reached: float


@dataclass(frozen=True, slots=True)
class LoadStep:
    """The next load up, the step aimed at and the step that the plates allow."""

    from_kg: float
    to_kg: float
    percent: float
    percent_aimed: float
    sentence: str
    sources: tuple[Source, ...] = (PROGRESSION, STEP_ENDS)


def target_load(
    *,
    one_rm_kg: float | None,
    percent: float | None,
    plates: Plates,
    policy: DosingPolicy = _POLICY,
) -> TargetLoad | NoEstimate:
    """Return the load for a percentage of 1RM, rounded down to the plates."""
    most = 2 * policy.most_load  # an estimate exceeds the load that it came from
    refusal = (
        plates.fault
        or outside(one_rm_kg, low=0.1, high=most, what="1RM", unit="kg", field="one_rm")
        or outside(
            percent, low=1, high=100, what="The share", unit="%", field="percent"
        )
    )
    if refusal or one_rm_kg is None or percent is None:
        return refusal or NoEstimate("1RM and share are needed.", "one_rm")
    exact = _decimal(one_rm_kg) * _decimal(percent) / 100
    kg = plates.at_or_below(exact)
    if not kg:
        return NoEstimate(
            f"The target of {plain(float(exact), decimals=2)} kg is below the lightest "
            "load here; use a lighter set-up or the entry's easier neighbour.",
            "step_kg",
        )
    return TargetLoad(float(exact), kg, percent, 100 * kg / one_rm_kg)


def is_target_beaten(
    repetitions_over: Sequence[int | None], *, policy: DosingPolicy = _POLICY
) -> bool:
    """Tell whether the last sessions, newest last, each beat the target."""
    latest = repetitions_over[-policy.calm_sessions :]
    is_enough = len(latest) == policy.calm_sessions
    return is_enough and all(
        over is not None and over >= policy.repetitions_over for over in latest
    )


def aimed_step(
    muscle: Muscle, irritability: Irritability, *, policy: DosingPolicy = _POLICY
) -> float:
    """Return the step in per cent: the upper end only for large and calm."""
    is_large = muscle == Muscle.LARGE
    is_calm = irritability == Irritability.LOW
    return policy.step_most if is_large and is_calm else policy.step_least


def load_step(
    *,
    load_kg: float | None,
    plates: Plates,
    muscle: Muscle,
    irritability: Irritability | None,
    policy: DosingPolicy = _POLICY,
) -> LoadStep | NoEstimate:
    """Return the next load up: the aimed step, rounded down to the plates.

    Where the aimed step is less than one plate, one plate is the step if it stays
    within the largest step allowed.
    """
    refusal = plates.fault or outside(
        load_kg, low=0.1, high=policy.most_load, what="Load", unit="kg", field="load_kg"
    )
    if refusal or load_kg is None:
        return refusal or NoEstimate("The load is needed.", "load_kg")
    if irritability not in (Irritability.LOW, Irritability.MODERATE):
        return NoEstimate(
            "No load step while irritability is high or not recorded.", "irritability"
        )
    aimed = aimed_step(muscle, irritability, policy=policy)
    raised = plates.at_or_below(_raised(load_kg, aimed))
    is_one_plate = raised is None or raised <= load_kg
    to_kg = plates.next_above(load_kg) if is_one_plate or raised is None else raised
    if _decimal(to_kg) > _raised(load_kg, policy.step_most):
        return _too_coarse(load_kg, to_kg, policy)
    return _step(load_kg, to_kg, aimed)


def _raised(load_kg: float, percent: float) -> Decimal:
    return _decimal(load_kg) * (100 + _decimal(percent)) / 100


def _step(load_kg: float, to_kg: float, aimed: float) -> LoadStep:
    percent = 100 * (to_kg - load_kg) / load_kg
    sentence = (
        f"Raise the load from {plain(load_kg, decimals=2)} to "
        f"{plain(to_kg, decimals=2)} kg, {plain(percent)} per cent."
    )
    if percent > aimed:
        sentence += f" One plate is more than the {plain(aimed)} per cent aimed at."
    return LoadStep(load_kg, to_kg, percent, aimed, sentence)


def _too_coarse(load_kg: float, to_kg: float, policy: DosingPolicy) -> NoEstimate:
    percent = 100 * (to_kg - load_kg) / load_kg
    return NoEstimate(
        f"The next plate would raise the load by {plain(percent)} per cent, above the "
        f"largest step of {plain(policy.step_most)}: find a smaller plate.",
        "step_kg",
    )


def _decimal(value: float) -> Decimal:
    """Return the number as it was typed, so that 53.2 is 53.2."""
    return Decimal(str(value))
