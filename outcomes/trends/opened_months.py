"""Cases opened a month, on an XmR chart with frozen limits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from clinic.templatetags.clinic_format import DASH, plural

from ..frames.period import PeriodData
from ..science.group.control import WORKSHOP
from ..science.phrases import number_words, signed_words
from .counted import CaseSets, declined
from .month_points import month_words, opened_months
from .months_figure import Frame, MonthPoint, months_figure
from .months_reference import OPENED, opened_counts, reference_for
from .reached import listed
from .reference_words import basis_note, basis_words
from .runs_words import runs_rule, shift_words
from .sections import Block, Cell, Figure, Table

TITLE = "Cases opened a month"
HEAD = ("Month", "Opened", "Step from the month before", "Judged")
NOT_WHOLE = "not complete, not judged"
NOTES = (
    "Every case counts, both knees of a person too. A month that is not over, or lies "
    "partly outside the period, is marked and not judged.",
    f"Limits: mean plus and minus {WORKSHOP.of_values} mean moving ranges of the "
    f"reference (XmR, rounding {WORKSHOP.name}); a step may reach {WORKSHOP.of_ranges} "
    "mean moving ranges. Fewer than none is not possible, so the lower limit is not "
    "below 0.",
)


@dataclass(frozen=True, slots=True)
class Opened:
    """One month with its openings; the step is None where none can be taken."""

    month: pd.Period
    value: int
    is_whole: bool
    step: int | None
    judged: str

    @property
    def is_outside(self) -> bool:
        """Tell whether the number lies outside the limits."""
        return self.judged.startswith(("above", "below"))


def opened_block(data: PeriodData, sets: CaseSets) -> Block:
    """Return the openings over the months."""
    reference = reference_for(data, OPENED)
    # Where no case was opened there is nothing to judge, only a period too early.
    numbers = reference["numbers"] if reference and len(data.cases) else None
    rows = _rows(data, numbers)
    said = _says(data, rows, numbers)
    values = [row.value for row in rows if row.is_whole]
    rule = runs_rule(values, numbers["median"] if numbers else None)
    return Block(
        title=TITLE,
        says=" ".join(filter(None, [said, basis_words(data, reference)])),
        table=_table(data, rows, sets),
        figure=_figure(data, rows, numbers),
        n=sum(row.value for row in rows),
        of=len(data.cases),
        of_what="cases of the period",
        left_out=declined(data.declined),
        notes=(*NOTES, rule, *basis_note(reference)),
    )


def _rows(data: PeriodData, numbers: Mapping[str, Any] | None) -> list[Opened]:
    counts = opened_counts(data)
    months = opened_months(data.choice, on=data.on)
    rows: list[Opened] = []
    for month, is_whole in months:
        value = int(counts[month])
        before = rows[-1] if rows else None
        has_step = is_whole and before is not None and before.is_whole
        step = value - before.value if has_step and before else None
        judged = _judged(value, step, numbers) if is_whole else NOT_WHOLE
        rows.append(Opened(month, value, is_whole, step, judged))
    return rows


def _judged(value: int, step: int | None, numbers: Mapping[str, Any] | None) -> str:
    if numbers is None:
        return DASH
    if value > numbers["high"]:
        return "above the limits"
    if value < numbers["low"]:
        return "below the limits"
    if step is not None and abs(step) > numbers["range_high"]:
        return "an unusual step"
    return "inside"


def _says(
    data: PeriodData, rows: Sequence[Opened], numbers: Mapping[str, Any] | None
) -> str:
    whole = [row for row in rows if row.is_whole]
    if not len(data.cases):
        return "No case was opened in the period."
    if not whole:
        return "No whole month of the period is over yet."
    values = [row.value for row in whole]
    said = [
        f"{plural(sum(values), 'case')} in {plural(len(values), 'whole month')}: "
        f"{min(values)} to {max(values)} a month, "
        f"{number_words(sum(values) / len(values))} on average."
    ]
    if numbers:
        said.append(_against(whole, numbers))
    said.append(shift_words(values, numbers["median"] if numbers else None))
    return " ".join(said)


def _against(whole: Sequence[Opened], numbers: Mapping[str, Any]) -> str:
    low, high = max(0.0, numbers["low"]), numbers["high"]
    limits = f"the limits of {number_words(low)} to {number_words(high)}"
    out = [f"{month_words(row.month)} ({row.value})" for row in whole if row.is_outside]
    if not out:
        return f"No month lies outside {limits}."
    return f"{listed(out)} {'lies' if len(out) == 1 else 'lie'} outside {limits}."


def _table(data: PeriodData, rows: Sequence[Opened], sets: CaseSets) -> Table:
    months = data.cases["opened"].dt.to_period("M")
    return Table(
        f"{TITLE}, and the step from the month before",
        HEAD,
        tuple(
            (
                Cell(month_words(row.month)),
                sets.cell(f"opened_{row.month}", months.index[months == row.month]),
                Cell(DASH if row.step is None else signed_words(row.step)),
                Cell(row.judged),
            )
            for row in rows
        ),
    )


def _figure(
    data: PeriodData, rows: Sequence[Opened], numbers: Mapping[str, Any] | None
) -> Figure | None:
    if not len(data.cases) or len(rows) < 2:
        return None
    points = [_point(row, numbers) for row in rows]
    top = max(max(point.value, point.high or 0) for point in points)
    frame = Frame(
        title="Cases",
        top=1.1 * top,
        centre=numbers["centre"] if numbers else None,
        changes=data.changes,
    )
    direction = "More is neither better nor worse."
    return Figure(OPENED, TITLE, direction, months_figure(points, frame))


def _point(row: Opened, numbers: Mapping[str, Any] | None) -> MonthPoint:
    return MonthPoint(
        on=row.month.start_time.date().replace(day=15),
        value=row.value,
        words=f"{month_words(row.month)}: {row.value}",
        is_complete=row.is_whole,
        is_outside=row.is_outside,
        low=max(0.0, numbers["low"]) if numbers else None,
        high=numbers["high"] if numbers else None,
    )
