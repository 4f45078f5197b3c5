"""How soon an important gain is seen, with leaving care as the other end."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from clinic.templatetags.clinic_format import plural

from ..frames.period import PeriodData
from ..science.group.time_to import COMPETING, EVENT, at_risk
from ..trends_titles import TITLES
from .counted import CaseSets, name_of
from .curves import Curves
from .ends import counted_cases, ends_of
from .incidence_figure import incidence_figure
from .reached import REASONS
from .sections import Block, Cell, Figure, LeftOut, Section, Table

KEY = "time"
HEAD = (
    "By week",
    "At risk before",
    "Gained so far",
    "Share that gained",
    "95 % limits",
    "Left first so far",
    "Share that left first",
    "Neither yet",
)
UNLIKE_REACHED = (
    "Any score in care can show the gain, which then counts for good, and everybody "
    f"with room is followed. Under “{TITLES['response']}” the outcome alone counts, of "
    "those who have one; so the two shares need not agree."
)
MEASURED = (
    "A gain is seen when a score is taken: it happened between that score and the one "
    "before. Weeks are counted from the first score, and a part of a week counts as "
    "that week. Fewer or later scores make a gain look slower.",
    "In the same week a gain counts before an end of follow-up.",
    "Shares are cumulative incidences (Aalen-Johansen): leaving care without the gain "
    "is an end of its own. Taking those who left for people who would have gained "
    "like the rest overstates the share (Austin, Lee and Fine 2016, Circulation "
    "133:601).",
    UNLIKE_REACHED,
)
CONFIRMED = (
    "Counted in the week of the confirming score, so it comes later by one score. "
    "Who gained at the last score before leaving could not be confirmed and counts "
    "as having left.",
)
LEAVING = (
    "Leaving is not chance: people are discharged because they gained, because they no "
    "longer do, or stop coming for reasons of their own. The curve describes "
    "what happened in this clinic, not what would happen if everybody stayed."
)
LOST_KEY = "lost to measurement"
LOST = (
    "Lost to measurement: still in care, but the time for the outcome passed without "
    "a score; such a case counts as leaving at its last score."
)
NO_CAUSE = (
    "Without people who had no such care, the time to a gain says nothing of what "
    "caused it; knees also get better by themselves."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wording:
    """The words of one curve, and the beginning of the names of its sets."""

    title: str
    key: str
    what: str
    figure: str
    notes: tuple[str, ...]


FIRST = Wording(
    title="First important gain",
    key="first",
    what="an important gain",
    figure="Share with an important gain",
    notes=MEASURED,
)
STRICT = Wording(
    title="Gain that the next score confirms",
    key="strict",
    what="a confirmed important gain",
    figure="Share with a confirmed gain",
    notes=CONFIRMED,
)


def build(data: PeriodData) -> Section:
    """Return the section; one knee a person, first scores with room to improve."""
    cases = counted_cases(data.cases)
    sets = CaseSets()
    left_out = _left_out(data.cases, sets)
    first = ends_of(data, cases, is_confirmed=False)
    strict = ends_of(data, cases, is_confirmed=True)
    blocks = (
        _curve_block(data, first, FIRST, sets, left_out),
        _curve_block(data, strict, STRICT, sets, left_out),
        _left_block(cases, first, sets, len(data.cases)),
    )
    return Section(
        key=KEY,
        title=TITLES["time"],
        question="How long does it take until an important gain is seen?",
        blocks=blocks,
        cautions=(LEAVING, NO_CAUSE),
        sets=sets.named,
    )


def _left_out(cases: pd.DataFrame, sets: CaseSets) -> tuple[LeftOut, ...]:
    first = cases["is_first"].eq(True)
    known = cases["baseline"].notna()
    has_room = cases["has_room"].eq(1)
    found = (
        sets.left_out(
            REASONS["further"],
            "second",
            cases.index[~first],
        ),
        sets.left_out(
            REASONS["no_baseline"], "no_baseline", cases.index[first & ~known]
        ),
        sets.left_out(
            REASONS["no_room"],
            "no_room",
            cases.index[first & known & ~has_room],
        ),
    )
    return tuple(left for left in found if left.count)


def _curve_block(
    data: PeriodData,
    ends: pd.DataFrame,
    wording: Wording,
    sets: CaseSets,
    left_out: tuple[LeftOut, ...],
) -> Block:
    """Return one curve with its table; counts alone below the floor."""
    curves = Curves.of(ends)
    weeks = _weeks(data, ends)
    rows = tuple(_row(week, ends, curves, wording.key, sets) for week in weeks)
    figure = None
    if curves.until:
        data_of = incidence_figure(
            curves.improved, until=curves.until, name="Share that gained"
        )
        figure = Figure(
            f"time-{wording.key}",
            f"{wording.figure}, by week",
            "Higher means more have gained.",
            data_of,
        )
    return Block(
        title=wording.title,
        says=_says(ends, curves, wording.what, data.policy.planned_weeks),
        table=Table("Numbers at risk and shares by week", HEAD, rows),
        figure=figure,
        n=len(ends),
        of=len(data.cases),
        of_what="cases of the period",
        left_out=left_out,
        notes=(*wording.notes, *curves.notes),
    )


def _weeks(data: PeriodData, ends: pd.DataFrame) -> list[int]:
    """Return the weeks of the table: the schedule of the policy, while anyone waits."""
    if ends.empty:
        return []
    weeks = sorted({0, *data.policy.schedule_weeks})
    last = float(ends["week"].max())
    while weeks[-1] < last:
        weeks.append(weeks[-1] + data.policy.then_every_weeks)
    waiting = at_risk(ends["week"], weeks)
    return [week for week, n in zip(weeks, waiting, strict=True) if n]


def _row(
    week: int,
    ends: pd.DataFrame,
    curves: Curves,
    key: str,
    sets: CaseSets,
) -> tuple[Cell, ...]:
    by_now = ends["week"] <= week
    groups = {
        "at_risk": ends["week"] >= week,
        "improved": by_now & ends["end"].eq(EVENT),
        "left": by_now & ends["end"].eq(COMPETING),
    }
    waiting, improved, left = (
        sets.cell(f"{key}_{group}_{week}", ends.index[rows])
        for group, rows in groups.items()
    )
    shares = curves.shares(week)
    cells = (Cell(shares[0]), Cell(shares[1]), left, Cell(shares[2]), Cell(shares[3]))
    return (Cell(f"Week {week}"), waiting, improved, *cells)


def _says(ends: pd.DataFrame, curves: Curves, what: str, planned: int) -> str:
    if not curves.n:
        return "No case of this choice can be followed towards an important gain yet."
    if curves.until is None:
        improved = int(ends["end"].eq(EVENT).sum())
        whole = plural(curves.n, "case")
        return f"{what.capitalize()} was seen in {improved} of {whole} so far."
    return f"{curves.by_week(planned, what)} {curves.half()}"


def _left_block(
    cases: pd.DataFrame, ends: pd.DataFrame, sets: CaseSets, of: int
) -> Block:
    """Return who left before a gain was seen, by the reason on record."""
    left = cases[ends["end"].eq(COMPETING)]
    reasons = left["reason"].where(left["discharged"].notna(), LOST_KEY)
    rows = tuple(
        (
            Cell(str(reason).capitalize()),
            sets.cell(name_of("left", str(reason)), those.index),
        )
        for reason, those in left.groupby(reasons)
    )
    number = plural(len(left), "case") if len(left) else "Nobody"
    return Block(
        title="Who left before a gain",
        says=f"{number} left before an important gain was seen.",
        table=Table("Reason on record", ("Reason", "Cases"), rows),
        n=len(left),
        of=of,
        of_what="cases of the period",
        notes=(LOST,) if reasons.eq(LOST_KEY).any() else (),
    )
