"""Between clinicians: each one's share held against the clinic's, by what chance does.

No order of merit, and no spread beyond chance: see the notes that stand on the page.
"""

from __future__ import annotations

from collections.abc import Sequence

from ..frames.period import PeriodData
from ..science.group.funnel import Lies, lies
from ..science.group.small_numbers import FLOOR
from ..trends_titles import TITLES
from . import reached, units
from .counted import CaseSets, counted, declined
from .funnel_figure import DIRECTION, Point, funnel_figure
from .own_results import build_own, standing_choice
from .sections import Block, Cell, Figure, Section, Table
from .sheltering import TOGETHER, sheltered, units_of
from .units import Unit

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
    f"Clinicians with fewer than {FLOOR} counted cases stand together in all sections, "
    "joined by the next smallest until nobody's cases follow from the sum. Two reports "
    "with other choices of cases can be subtracted from each other: hand out one."
)
OF_ONE = (
    "This report is of one clinician's cases: it is for that clinician and the lead "
    "alone."
)
OF_TWO = (
    "With the cases of two clinicians, each can take their own off the total and is "
    "left with the other's: hand this report to neither alone."
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
        cautions=(CAUTION, _who_may_read(data) if is_shared else FOR_THE_LEAD),
        sets=sets.named,
    )


def _who_may_read(data: PeriodData) -> str:
    """Say what keeps the few cases of a clinician apart, or that nothing can."""
    clinicians = data.cases["clinician"].nunique()
    if data.choice.clinician is not None or clinicians == 1:
        return OF_ONE
    return OF_TWO if clinicians == 2 else SHELTERED


def _block(data: PeriodData, sets: CaseSets, *, is_shared: bool) -> Block:
    split = reached.counting(data.cases)
    everybody = units_of(data)
    if is_shared:
        everybody = sheltered(everybody)
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
        notes=(*NOTES, *reached.early_words(data, split.cases)),
    )


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
