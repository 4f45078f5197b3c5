"""Between clinicians: each one's share held against the clinic's, by what chance does.

No order of merit, and no spread beyond chance: see the notes that stand on the page.
"""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from ..frames.period import PeriodData
from ..science.group.funnel import Lies, lies
from ..science.group.small_numbers import FLOOR
from ..trends_titles import TITLES
from . import reached, units
from .counted import CaseSets, counted, declined
from .funnel_figure import DIRECTION, Point, funnel_figure
from .own_results import build_own, standing_choice
from .sections import Block, Cell, Figure, Section, Table
from .units import TOGETHER, Unit

__all__ = ["build", "build_own", "standing_choice"]

HEAD = ("Clinician", "Reached", "95 % limits", "99.8 % limits", "Where it lies")
NOTES = (
    reached.RULE,
    "The target is the share of all counted cases together, those of clinicians with "
    "few cases included. A case counts for the clinician who has it now.",
    units.LIMITS_RULE,
    units.NO_SPREAD_RULE,
)
CAUTION = (
    "A point beyond the limits is a reason to look at the cases, not a verdict on a "
    "person: who is referred to whom, how the knees began and who was lost to "
    "measurement differ between clinicians. A point inside is no proof of sameness."
)
FOR_THE_LEAD = (
    f"Clinicians with fewer than {FLOOR} counted cases are named here for the lead; "
    "the printed report puts them together."
)
SHELTERED = (
    f"Clinicians with fewer than {FLOOR} counted cases stand together, joined by the "
    "next smallest where one alone would follow from the total."
)


def build(data: PeriodData) -> Section:
    """Return the section for the lead, who may open every case behind it."""
    return _section(data, is_shared=False)


def build_shared(data: PeriodData) -> Section:
    """Return the section for a sheet that leaves the lead's hands."""
    return _section(data, is_shared=True)


def _section(data: PeriodData, *, is_shared: bool) -> Section:
    sets = CaseSets()
    return Section(
        key="clinicians",
        title=TITLES["clinicians"],
        question="Do clinicians differ by more than chance in how many reach an "
        "important gain?",
        blocks=(_block(data, sets, is_shared=is_shared),),
        cautions=(CAUTION, SHELTERED if is_shared else FOR_THE_LEAD),
        sets=sets.named,
    )


def _block(data: PeriodData, sets: CaseSets, *, is_shared: bool) -> Block:
    split = reached.counting(data.cases)
    everybody = _units(data, split.cases)
    if is_shared:
        everybody = units.sheltered(everybody)
    target = units.target_of(everybody)
    drawn = [unit for unit in everybody if unit.is_drawn and unit.key != TOGETHER]
    figure = None
    if target is not None and len(drawn) > 1:
        figure = Figure(
            "funnel",
            "Share that reached an important gain, by clinician",
            DIRECTION,
            funnel_figure([Point(unit.name, unit.count) for unit in drawn], target),
        )
    return Block(
        title="Share that reached an important gain",
        says=_says(data, everybody, drawn, target),
        table=_table(everybody, target, sets),
        figure=figure,
        n=len(split.cases),
        of=len(data.cases),
        of_what="cases of the period",
        left_out=(*reached.left_out(split, sets), *declined(data.declined)),
        notes=NOTES,
    )


def _units(data: PeriodData, cases: pd.DataFrame) -> list[Unit]:
    """Return everybody with a case in the period, in order of name."""
    here = {int(key) for key in data.cases["clinician"].unique()}
    named = [(str(data.people.get(key, "Somebody who left")), key) for key in here]
    return [units.unit_of(key, name, cases) for name, key in sorted(named)]


def _table(everybody: Sequence[Unit], target: float | None, sets: CaseSets) -> Table:
    rows = []
    for unit in everybody:
        count = unit.count
        told = units.placed(count, 0.0 if target is None else target)
        share = sets.share(f"reached_{unit.key}", unit.reached, of=count.of)
        name = Cell(unit.name, sets.keep(f"counted_{unit.key}", unit.counted))
        rows.append((name, share, *map(Cell, told)))
    return Table(
        caption="Cases that reached an important gain, by clinician in order of name",
        head=HEAD,
        rows=tuple(rows),
    )


def _says(
    data: PeriodData,
    everybody: Sequence[Unit],
    drawn: Sequence[Unit],
    target: float | None,
) -> str:
    if target is None:
        return reached.why_none(data)
    done = sum(unit.count.reached for unit in everybody)
    of = sum(unit.count.of for unit in everybody)
    together = f"Together {counted(done, of)} reached an important gain."
    if len(everybody) == 1:
        return f"{together} All are cases of one clinician: there is nobody to compare."
    if len(drawn) < 2:
        return (
            f"{together} Fewer than two clinicians have {FLOOR} counted cases or more, "
            "so nobody can be held against the others yet."
        )
    return f"{together} {_beyond(drawn, target)} {units.luck_words(len(drawn))}"


def _beyond(drawn: Sequence[Unit], target: float) -> str:
    """Say who lies beyond the limits, in order of name."""
    inner = f"the {len(drawn)} clinicians with {FLOOR} counted cases or more"
    out = [unit for unit in drawn if lies(unit.count, target) is not Lies.INSIDE]
    if not out:
        return f"Of {inner}, all lie inside the limits: chance alone could do this."
    names = [f"{unit.name} ({units.lies_words(unit.count, target)})" for unit in out]
    lie = "lies" if len(out) == 1 else "lie"
    return f"Of {inner}, {reached.listed(names)} {lie} outside."
