"""How far from its planned day each outcome was taken, by weeks."""

from __future__ import annotations

import pandas as pd

from clinic.templatetags.clinic_format import plural

from ..frames.period import CLOSES_DAYS_AFTER, OPENS_DAYS_BEFORE, PeriodData
from .counted import CaseSets, counted, name_of
from .flow_figure import Bar, bars
from .sections import Block, Cell, Figure, LeftOut, Table

SOONER = "At the end of care, sooner"
EARLY = "Before the planned day"
ON_TIME = "On the planned day or within 6 days"
WAITING = "Past the planned day and not measured, still in time"
WEEK_RULE = "Weeks late are whole weeks that have passed since the planned day."


def lateness_block(data: PeriodData, sets: CaseSets) -> Block:
    """Return how late the measured cases were, and who is past the day now."""
    cases = data.cases
    measured = cases[cases["state"] == "measured"]
    planned = data.policy.planned_weeks * 7
    off = measured["outcome_day"] - planned
    lines, of = _lines(off), len(measured)
    return Block(
        title="How late the outcomes were taken",
        says=_says(off),
        table=Table(
            caption=f"Outcomes by weeks from the planned day (week {planned // 7})",
            head=("When", "Cases"),
            rows=_rows(data, lines, of, sets) if len(cases) else (),
        ),
        n=of,
        of=int(cases["is_due"].eq(True).sum()),
        of_what="cases due",
        figure=_figure(lines) if of else None,
        left_out=_left_out(cases, sets),
        notes=(WEEK_RULE,),
    )


def _rows(
    data: PeriodData, lines: list[tuple[str, pd.Index]], of: int, sets: CaseSets
) -> tuple[tuple[Cell, ...], ...]:
    rows = [
        (Cell(name), sets.share(name_of("late", name), episodes, of=of))
        for name, episodes in lines
    ]
    return *rows, (Cell(WAITING), sets.cell("late_waiting", _waiting(data)))


def _lines(off: pd.Series) -> list[tuple[str, pd.Index]]:
    """Return every row of lateness with its cases; the last day belongs to its week."""
    late = [
        (f"{plural(week, 'week')} late", off.index[off // 7 == week])
        for week in range(1, CLOSES_DAYS_AFTER // 7 + 1)
    ]
    return [
        (SOONER, off.index[off < -OPENS_DAYS_BEFORE]),
        (EARLY, off.index[(off >= -OPENS_DAYS_BEFORE) & (off < 0)]),
        (ON_TIME, off.index[off // 7 == 0]),
        *late,
    ]


def _waiting(data: PeriodData) -> pd.Index:
    """Return cases under way whose day has passed, without a score near it."""
    cases, looks = data.cases, data.looks
    is_past = cases["due_on"] < pd.Timestamp(data.on)
    open_now = cases[is_past & (cases["state"] == "under way")]
    first = data.policy.planned_weeks * 7 - OPENS_DAYS_BEFORE
    near = looks.loc[looks["day"] >= first, "episode"]
    return open_now.index.difference(near)


def _says(off: pd.Series) -> str:
    if not len(off):
        return "No outcome was taken yet."
    late = int((off >= 7).sum())
    was = "was" if late == 1 else "were"
    return (
        f"{counted(late, len(off))} {was} taken a week or more after the planned day."
    )


def _figure(lines: list[tuple[str, pd.Index]]) -> Figure:
    return Figure(
        key="flow-lateness",
        title="Outcomes by weeks from the planned day",
        direction="Later further down.",
        data=bars([Bar(name, len(cases)) for name, cases in lines], title="Cases"),
    )


def _left_out(cases: pd.DataFrame, sets: CaseSets) -> tuple[LeftOut, ...]:
    due = cases[cases["is_due"].eq(True)]
    without = due.index[due["state"] != "measured"]
    left = sets.left_out("due without such an outcome", "late_without", without)
    return (left,) if left.count else ()
