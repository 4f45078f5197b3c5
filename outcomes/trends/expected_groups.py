"""Groups of cases, observed and expected: by clinician and by month."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import pandas as pd

from clinic.templatetags.clinic_format import DASH, MINUS, MONTHS

from ..frames.period import CLOSES_DAYS_AFTER, PeriodData
from ..science.group.adjusted import Compared, Model, compare
from ..science.group.small_numbers import FLOOR, LEAST_FLOOR
from ..science.measures import Measure
from .counted import CaseSets, name_of
from .expected_figure import clinicians_figure, months_figure
from .sections import Block, Cell, Figure, Table
from .sheltering import TOGETHER, hidden_keys, sheltered, units_of
from .units import Unit

Z = 1.959964  # two-sided 95 % point of the normal distribution
HEAD = ("Cases", "Change observed", "Expected", "Difference", "95 % limits")
NO_ORDER = (
    f"In order of name. A clinician with fewer than {FLOOR} counted cases is shown to "
    "the lead by the number alone; the printed report puts such clinicians together."
)
MONTHS_RULE = (
    "By the month of the planned end of care. Means are shown from 5 cases, limits "
    "from 10. A month marked as incomplete still has outcomes to come."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Cases under one name; `found` is None where they are too few to be shown."""

    name: str
    key: str
    rows: pd.DataFrame
    found: Compared | None


def held_against(model: Model, rows: pd.DataFrame) -> Compared:
    """Return the mean change of some cases beside the expected one."""
    return compare(model, rows["follow_up"], rows["baseline"], rows["months"])


def chance_words(found: Compared) -> str:
    """Say the difference with its limits, and whether chance explains it."""
    limits = f"{points(found.difference)} points (95 % limits {limits_of(found)})"
    if abs(found.z) < Z:
        return f"{limits}, no more than chance alone can bring"
    return f"{limits}, more than chance alone would often bring"


def points(value: float) -> str:
    """Return a mean with its sign and always one decimal, since means stand in rows."""
    return f"{round(value, 1) + 0.0:+.1f}".replace("-", MINUS)


def limits_of(found: Compared) -> str:
    """Return the limits of a difference as "−1.0 to +5.2"."""
    low, high = (found.difference + sign * Z * found.se for sign in (-1, 1))
    return f"{points(low)} to {points(high)}"


def shown_sizes(sizes: Iterable[int], floor: int) -> list[bool]:
    """Tell which groups may be shown, so that no hidden one can be worked out.

    A group below the floor is hidden; where that leaves a single hidden one, the
    smallest of the others is hidden with it, since the whole is shown as well.
    """
    counts = list(sizes)
    shown = [count >= floor for count in counts]
    hidden = [i for i, count in enumerate(counts) if 0 < count < floor]
    if len(hidden) == 1 and any(shown):
        shown[
            min((i for i, is_on in enumerate(shown) if is_on), key=counts.__getitem__)
        ] = False
    return shown


def clinicians(data: PeriodData, rows: pd.DataFrame, *, is_shared: bool) -> list[Unit]:
    """Return who has cases here, in order of name; few cases together where shared."""
    parts = units_of(data, rows)
    if is_shared:
        parts = sheltered(parts, also=hidden_keys(data))
    return [part for part in parts if part.count.of]


def clinician_block(
    about: Measure,
    rows: pd.DataFrame,
    parts: Sequence[Unit],
    model: Model,
    sets: CaseSets,
) -> Block:
    """Return each clinician's observed and expected change, without an order."""
    named = [(p.name, f"clinician {p.key}", rows.loc[p.counted]) for p in parts]
    groups = _groups(named, model, floor=FLOOR)
    drawn = [(g.name, g.found, Z * g.found.se) for g in groups if g.found]
    figure = Figure(
        f"expected-clinicians-{about.key}",
        "Difference from the expected change, by clinician",
        "Right of the line: more gain than expected. Bars are 95 % limits.",
        clinicians_figure([(name, f.difference, reach) for name, f, reach in drawn]),
    )
    return Block(
        title=f"{about.short_name}: by clinician",
        says=_clinicians_say(groups),
        table=_table(about, "Clinician", groups, sets),
        figure=figure if drawn else None,
        n=len(rows),
        of=len(rows),
        of_what="cases with an outcome",
        notes=(NO_ORDER, *_luck(len(drawn))),
    )


def month_block(
    data: PeriodData, about: Measure, rows: pd.DataFrame, model: Model, sets: CaseSets
) -> Block:
    """Return each month's observed and expected change."""
    months = rows["due_on"].dt.to_period("M")
    span = pd.period_range(months.min(), months.max(), freq="M")
    parts = [
        (_month(data, month), f"month {month}", rows[months == month]) for month in span
    ]
    groups = _groups(parts, model, floor=LEAST_FLOOR)
    drawn = [
        (f"{month}-01", *_means(group.found))
        for month, group in zip(span, groups, strict=True)
    ]
    return Block(
        title=f"{about.short_name}: by month",
        says=_months_say(groups),
        table=_table(about, "Month", groups, sets),
        figure=_months_figure(about, drawn),
        n=len(rows),
        of=len(rows),
        of_what="cases with an outcome",
        notes=(MONTHS_RULE,),
    )


def _months_figure(
    about: Measure, drawn: list[tuple[str, float | None, float | None]]
) -> Figure | None:
    """Return the figure of the months; none for a single one that may be shown."""
    if sum(observed is not None for _, observed, _ in drawn) < 2:
        return None
    return Figure(
        f"expected-months-{about.key}",
        "Mean change, observed and expected, by month",
        "Higher means more gain.",
        months_figure(drawn),
    )


def _means(found: Compared | None) -> tuple[float | None, float | None]:
    return (found.observed, found.expected) if found else (None, None)


def _groups(
    parts: list[tuple[str, str, pd.DataFrame]], model: Model, *, floor: int
) -> list[Group]:
    shown = shown_sizes((len(rows) for _, _, rows in parts), floor)
    return [
        Group(
            name=name,
            key=key,
            rows=rows,
            found=held_against(model, rows) if is_shown else None,
        )
        for (name, key, rows), is_shown in zip(parts, shown, strict=True)
    ]


def _month(data: PeriodData, month: pd.Period) -> str:
    words = f"{MONTHS[month.month - 1]} {month.year}"
    closes = month.end_time.normalize() + pd.Timedelta(days=CLOSES_DAYS_AFTER)
    return words if closes <= pd.Timestamp(data.on) else f"{words}, incomplete"


def _table(about: Measure, what: str, groups: list[Group], sets: CaseSets) -> Table:
    rows = tuple(
        (
            Cell(group.name),
            sets.cell(name_of("expected", about.key, group.key), group.rows.index),
            *map(Cell, _numbers(group.found)),
        )
        for group in groups
    )
    return Table(f"Mean change of the {about.short_name}, points", (what, *HEAD), rows)


def _numbers(found: Compared | None) -> tuple[str, str, str, str]:
    if found is None:
        return DASH, DASH, DASH, DASH
    limits = limits_of(found) if found.n >= FLOOR else DASH
    observed, expected = points(found.observed), points(found.expected)
    return observed, expected, points(found.difference), limits


def _clinicians_say(groups: list[Group]) -> str:
    together = f"clinician {TOGETHER}"
    shown = [g.found for g in groups if g.found and g.key != together]
    if not shown:
        return f"No clinician has {FLOOR} cases that may be shown."
    beyond = sum(abs(found.z) >= Z for found in shown)
    if not beyond:
        return "No clinician's cases differ from what was expected by more than chance."
    return (
        f"{beyond} of {len(shown)} clinicians shown differ from what was expected by "
        "more than chance alone would often bring."
    )


def _months_say(groups: list[Group]) -> str:
    enough = [g.found for g in groups if g.found and g.found.n >= FLOOR]
    if not enough:
        return f"No month has {FLOOR} cases, so no month can be told from chance."
    beyond = sum(abs(found.z) >= Z for found in enough)
    return (
        f"Of {len(enough)} months with {FLOOR} cases or more, {beyond} differ from "
        "what was expected by more than chance alone would often bring; about 1 in 20 "
        "does so by luck."
    )


def _luck(count: int) -> tuple[str, ...]:
    """Say how likely it is that somebody stands out by luck alone."""
    if count < 2:
        return ()
    chance = round(100 * (1 - 0.95**count))
    return (
        f"With {count} clinicians the chance that at least one lies outside 95 % "
        f"limits by luck alone is {chance} of 100.",
    )
