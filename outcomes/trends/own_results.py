"""A clinician's own results beside colleagues without names.

Nothing that is shown covers a colleague below the floor: no total, no target, no count.
So there is nothing to subtract from, and a hidden number could be any that is hidden.
Two periods that overlap could be subtracted as well: colleagues are drawn for one
standing period only, whose outcomes are all settled.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from clinic.templatetags.clinic_format import day, percent, plural

from ..frames.period import CLOSES_DAYS_AFTER, PeriodData
from ..period_choice import Choice
from ..science.group.funnel import Lies, lies
from ..science.group.small_numbers import FLOOR
from ..science.policy import StallPolicy
from . import reached, units
from .counted import CaseSets, counted
from .funnel_figure import DIRECTION, Point, funnel_figure
from .sections import Block, Cell, Figure, Section, Table
from .units import Unit

# With fewer points each could be told by who it must be (project assumption).
LEAST_COLLEAGUES = 3
STANDING_YEARS = 2
HEAD = ("Clinician", "Reached", "95 % limits", "99.8 % limits", "Where it lies")
CAUTIONS = (
    "A point beyond the limits is a reason to look at the cases, not a verdict: who "
    "is referred to whom, how the knees began and who was lost differ.",
)


def standing_choice(policy: StallPolicy, *, on: date) -> Choice:
    """Return the one period in which colleagues are drawn.

    Two years, up to the end of the last quarter whose outcome windows have all closed.
    """
    settled = on - timedelta(days=policy.planned_weeks * 7 + CLOSES_DAYS_AFTER)
    after = settled + timedelta(days=1)
    begins = date(after.year, 3 * ((after.month - 1) // 3) + 1, 1)
    return Choice(
        from_on=begins.replace(year=begins.year - STANDING_YEARS),
        until_on=begins - timedelta(days=1),
    )


def build_own(data: PeriodData, clinician: int) -> Section:
    """Return one clinician's own figures, and the others where that tells nobody.

    `data` holds the whole clinic's cases; only the own ones can be traced.
    """
    sets = CaseSets()
    everybody = reached.counting(data.cases).cases
    own = units.unit_of(clinician, "You", everybody)
    others = [
        units.unit_of(int(key), "", everybody)
        for key in everybody["clinician"].unique()
        if key != clinician
    ]
    # By size and not by name or share: the place in the table tells nobody either.
    drawn = sorted(
        (unit for unit in others if unit.is_drawn),
        key=lambda unit: (unit.count.of, unit.count.reached),
    )
    reason = _why_alone(data, drawn)
    return Section(
        key="own",
        title="Your own results",
        question="How many of your cases reach an important gain, and is that more or "
        "less than chance would do?",
        blocks=(_block(data, own, () if reason else drawn, reason, sets),),
        cautions=CAUTIONS,
        sets=sets.named,
    )


def _why_alone(data: PeriodData, drawn: Sequence[Unit]) -> str:
    """Say why colleagues are not drawn; empty where they are."""
    standing = standing_choice(data.policy, on=data.on)
    if data.choice != standing:
        return (
            "Colleagues are drawn for one period only, cases opened "
            f"{day(standing.from_on)} to {day(standing.until_on)}, so that nobody's "
            "few cases follow from two periods that overlap."
        )
    if len(drawn) < LEAST_COLLEAGUES:
        return (
            f"Fewer than {LEAST_COLLEAGUES} colleagues have {FLOOR} counted cases or "
            "more: a point would tell whose it is, so only your own figures are shown."
        )
    return ""


def _block(
    data: PeriodData, own: Unit, drawn: Sequence[Unit], reason: str, sets: CaseSets
) -> Block:
    mine = data.cases[data.cases["clinician"] == own.key]
    split = reached.counting(mine)
    shown = [*drawn, *((own,) if own.is_drawn else ())]
    target = units.target_of(shown) if drawn else None
    points = [Point(unit.name, unit.count, is_own=unit is own) for unit in shown]
    return Block(
        title="Share that reached an important gain",
        says=" ".join(filter(None, [_says(own, target, len(shown)), reason])),
        table=_table(own, drawn, target, sets),
        figure=Figure(
            "own-funnel",
            "Your share among colleagues without names",
            DIRECTION,
            funnel_figure(points, target),
        )
        if target is not None
        else None,
        n=len(own.counted),
        of=len(mine),
        of_what="cases of yours in the period",
        left_out=reached.left_out(split, sets),
        notes=_notes(is_alone=target is None),
    )


def _notes(*, is_alone: bool) -> tuple[str, ...]:
    if is_alone:
        return (reached.RULE,)
    return (
        reached.RULE,
        f"Colleagues with fewer than {FLOOR} counted cases are in no number on this "
        "page, neither as points nor in the line of all of them.",
        units.LIMITS_RULE,
    )


def _table(
    own: Unit, drawn: Sequence[Unit], target: float | None, sets: CaseSets
) -> Table:
    share = sets.share("reached", own.reached, of=own.count.of)
    name = Cell("You", sets.keep("counted", own.counted))
    if target is None:
        return Table("Your counted cases", HEAD[:2], ((name, share),))
    rows = [(name, share, *map(Cell, units.placed(own.count, target)))]
    for unit in drawn:
        told = units.placed(unit.count, target)
        reached_words = counted(unit.count.reached, unit.count.of)
        rows.append((Cell("A colleague"), *map(Cell, (reached_words, *told))))
    return Table("You, and colleagues by number of cases", HEAD, tuple(rows))


def _says(own: Unit, target: float | None, shown: int) -> str:
    count = own.count
    if not count.of:
        return "None of your cases of the period can be counted yet."
    said = (
        f"{counted(count.reached, count.of)} of your cases reached an important gain."
    )
    if not own.is_drawn:
        return f"{said} Below {FLOOR} cases no per cent is given and no point is drawn."
    if target is None:
        return said
    rate = (
        f"Over the {plural(shown, 'clinician')} drawn it was {percent(100 * target)}."
    )
    if lies(count, target) is Lies.INSIDE:
        return f"{said} {rate} Your point lies inside: chance alone could put it there."
    return f"{said} {rate} Your point lies {units.lies_words(count, target)}."
