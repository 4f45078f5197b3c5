"""Estimates of the one-repetition maximum from a set of a few repetitions.

The formulas disagree, so that every answer carries all of them and the spread.
Loads in kg; repetitions are those of a set that ended at or near failure.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from clinic.sourced.sources import Source

from .limits import DosingPolicy
from .no_estimate import NoEstimate, not_whole, outside
from .sources import FORMULA_LIST, REYNOLDS

SAME_FORMULA = "Use the same formula over time; the formulas disagree."
NOT_WHEN_IRRITABLE = "Do not test to failure while the knee is highly irritable."
LEAST_LOAD_KG = 0.1
# Slope, constant and standard error of the leg press equation, kg: Reynolds 2006.
LEG_PRESS_SLOPE, LEG_PRESS_CONSTANT, LEG_PRESS_ERROR = 1.0970, 14.2546, 16.2
LEG_PRESS_REPETITIONS = 5


class Ending(StrEnum):
    """Why a set ended; only the first makes it a maximum."""

    NEAR_FAILURE = "near_failure"
    IN_RESERVE = "in_reserve"
    PAIN = "pain"


@dataclass(frozen=True, slots=True)
class Formula:
    """A named formula: 1RM as a multiple of the load, from repetitions."""

    key: str
    name: str
    written: str
    ratio: Callable[[int], float]
    source: Source = FORMULA_LIST

    def one_rm(self, load_kg: float, repetitions: int) -> float:
        """Return the estimate in kg; one repetition is itself the maximum."""
        if repetitions == 1:
            return load_kg
        # To the milligram: float dust must not cost a plate when rounded down.
        return round(load_kg * self.ratio(repetitions), 6)


FORMULAS: Mapping[str, Formula] = MappingProxyType(
    {
        each.key: each
        for each in (
            Formula("epley", "Epley", "w × (1 + r/30)", lambda r: 1 + r / 30),
            Formula("brzycki", "Brzycki", "w × 36/(37 − r)", lambda r: 36 / (37 - r)),
            Formula("lombardi", "Lombardi", "w × r^0.10", lambda r: r**0.10),
            Formula("oconner", "O'Conner", "w × (1 + r/40)", lambda r: 1 + 0.025 * r),
            Formula(
                "wathan",
                "Wathan",
                "100 w/(48.8 + 53.8 e^(−0.075 r))",
                lambda r: 100 / (48.8 + 53.8 * math.exp(-0.075 * r)),
            ),
            Formula(
                "mayhew",
                "Mayhew",
                "100 w/(52.2 + 41.9 e^(−0.055 r))",
                lambda r: 100 / (52.2 + 41.9 * math.exp(-0.055 * r)),
            ),
            Formula(
                "lander",
                "Lander",
                "100 w/(101.3 − 2.67123 r)",
                lambda r: 100 / (101.3 - 2.67123 * r),
            ),
        )
    }
)


@dataclass(frozen=True, slots=True)
class Estimate:
    """What one formula gives, kg."""

    key: str
    name: str
    kg: float


@dataclass(frozen=True, slots=True)
class RepetitionMaximum:
    """The chosen formula's estimate beside all others, so that the spread is seen."""

    chosen: Estimate
    estimates: tuple[Estimate, ...]
    notes: tuple[str, ...]

    @property
    def lowest(self) -> Estimate:
        """The formula that gives least."""
        return min(self.estimates, key=lambda each: each.kg)

    @property
    def highest(self) -> Estimate:
        """The formula that gives most."""
        return max(self.estimates, key=lambda each: each.kg)

    @property
    def spread_kg(self) -> float:
        """Highest minus lowest."""
        return self.highest.kg - self.lowest.kg

    @property
    def spread_percent(self) -> float:
        """The spread as a percentage of the chosen estimate."""
        return 100 * self.spread_kg / self.chosen.kg


@dataclass(frozen=True, slots=True)
class LegPressMaximum:
    """Leg press 1RM from five repetitions, with one standard error, kg."""

    kg: float
    standard_error_kg: float
    source: Source
    notes: tuple[str, ...]


_POLICY = DosingPolicy()


def estimate_maximum(
    *,
    load_kg: float | None,
    repetitions: int | None,
    ending: Ending,
    formula: str = "",
    is_highly_irritable: bool = False,
    policy: DosingPolicy = _POLICY,
) -> RepetitionMaximum | NoEstimate:
    """Estimate the 1RM by every formula, `formula` or the site's own being chosen."""
    key = formula or policy.formula
    refusal = _unfit_set(load_kg, repetitions, ending, policy)
    if refusal is None and key not in FORMULAS:
        known = ", ".join(FORMULAS)
        refusal = NoEstimate(f"No such formula; there are {known}.", "formula")
    if refusal or load_kg is None or repetitions is None:
        return refusal or NoEstimate("The set is not whole.", "repetitions")
    by_key = {
        each.key: Estimate(each.key, each.name, each.one_rm(load_kg, repetitions))
        for each in FORMULAS.values()
    }
    caution = (NOT_WHEN_IRRITABLE,) if is_highly_irritable else ()
    return RepetitionMaximum(
        by_key[key], tuple(by_key.values()), (SAME_FORMULA, *caution)
    )


def leg_press_maximum(
    *,
    load_kg: float | None,
    repetitions: int | None,
    ending: Ending,
    policy: DosingPolicy = _POLICY,
) -> LegPressMaximum | NoEstimate:
    """Estimate a leg press 1RM from a five-repetition maximum (Reynolds 2006)."""
    if refusal := _unfit_set(load_kg, repetitions, ending, policy):
        return refusal
    if repetitions != LEG_PRESS_REPETITIONS or load_kg is None:
        return NoEstimate(
            "This equation is for a set of exactly 5 repetitions.", "repetitions"
        )
    kg = round(LEG_PRESS_SLOPE * load_kg + LEG_PRESS_CONSTANT, 6)
    note = "With light loads the constant of 14.3 kg decides: compare the formulas."
    return LegPressMaximum(kg, LEG_PRESS_ERROR, REYNOLDS, (SAME_FORMULA, note))


def _unfit_set(
    load_kg: float | None,
    repetitions: int | None,
    ending: Ending,
    policy: DosingPolicy,
) -> NoEstimate | None:
    """Return why a set gives no estimate; how it ended comes first."""
    if ending == Ending.PAIN:
        return NoEstimate("Pain stopped the set, so it is no maximum.", "ending")
    if ending != Ending.NEAR_FAILURE:
        return NoEstimate(
            "Repetitions were left in hand, so the set is no maximum.", "ending"
        )
    most = policy.most_repetitions
    return outside(
        load_kg,
        low=LEAST_LOAD_KG,
        high=policy.most_load,
        what="The load",
        unit="kg",
        field="load_kg",
    ) or not_whole(
        repetitions, low=1, high=most, what="Repetitions", field="repetitions"
    )
