"""Clinicians with few cases on a sheet that others will read: put together.

Held against readers who know how this is done, and against one of those put together,
who can take their own cases off the sum.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

import pandas as pd

from clinic.templatetags.clinic_format import plural

from ..frames.period import PeriodData
from ..science.group.small_numbers import FLOOR
from . import reached
from .units import Unit, unit_of

# Stands for several clinicians; no person has this key.
TOGETHER = 0
# Of two, each could take their own cases off the sum and be left with the other's.
LEAST_TOGETHER = 3


def sheltered(units: Sequence[Unit], *, also: Collection[int] = ()) -> list[Unit]:
    """Put clinicians below the floor together, so that nobody's few cases are shown.

    `also` are the keys of others to be put with them. The next smallest join until the
    sum tells nobody's part, and so does whoever has no case.
    """
    hidden = [unit for unit in units if unit.count.of and _is_few(unit, also)]
    rest = sorted(
        (unit for unit in units if unit.count.of and unit not in hidden),
        key=lambda unit: unit.count.of,
    )
    if not hidden:
        return list(units)
    while rest and not _is_shelter(hidden):
        # All of one size: which of them joined would tell something by the name.
        size = rest[0].count.of
        hidden += [unit for unit in rest if unit.count.of == size]
        rest = [unit for unit in rest if unit.count.of != size]
    hidden += [unit for unit in units if not unit.count.of]
    return [*(unit for unit in units if unit not in hidden), _together(hidden)]


def hidden_keys(data: PeriodData) -> frozenset[int]:
    """Return whose share stands with others' alone, so that no section names them."""
    everybody = units_of(data)
    named = {unit.key for unit in sheltered(everybody)}
    return frozenset(unit.key for unit in everybody) - named


def units_of(data: PeriodData, counted: pd.DataFrame | None = None) -> list[Unit]:
    """Return everybody with a case in the period, in order of name.

    Their counted cases are those whose share is formed, unless others are given.
    """
    cases = reached.counting(data.cases).cases if counted is None else counted
    here = {int(key) for key in data.cases["clinician"].unique()}
    named = [(str(data.people.get(key, "Somebody who left")), key) for key in here]
    return [unit_of(key, name, cases) for name, key in sorted(named)]


def _is_few(unit: Unit, also: Collection[int]) -> bool:
    return unit.count.of < FLOOR or unit.key in also


def _is_shelter(hidden: Sequence[Unit]) -> bool:
    """Tell whether neither a reader nor one of them can work out a part of the sum.

    Where all have few cases their number and sum alone decide, so that being put
    together, or not, tells nothing of how the sum is made up.
    """
    sizes = [unit.count.of for unit in hidden]
    total, others = sum(sizes), len(sizes) - 1
    if len(sizes) < LEAST_TOGETHER or total < FLOOR:
        return False
    if max(sizes) < FLOOR:
        # Whoever has the most takes 9 off, whoever has the least 1: what is left must
        # be more than one each, and less than 9 each.
        return others + FLOOR - 1 < total <= others * (FLOOR - 1)
    return total - max(sizes) > others + 1


def _together(hidden: Sequence[Unit]) -> Unit:
    counted, met = hidden[0].counted, hidden[0].reached
    for unit in hidden[1:]:
        counted, met = counted.append(unit.counted), met.append(unit.reached)
    return Unit(TOGETHER, f"{plural(len(hidden), 'clinician')} together", counted, met)
