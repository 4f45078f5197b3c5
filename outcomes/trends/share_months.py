"""A share by month of the outcome day, on a p-chart with frozen limits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from clinic.templatetags.clinic_format import DASH, percent, plural

from ..frames.period import PeriodData
from ..science.group.control import LARGE_MONTH, share_limits
from ..science.group.small_numbers import FLOOR
from .counted import CaseSets, counted
from .month_points import POOLED_RULE, Stretch
from .months_figure import Frame, MonthPoint, months_figure
from .months_reference import reference_for
from .reached import listed
from .reference_words import basis_note, basis_words
from .runs_words import runs_rule, shift_words
from .sections import Block, Cell, Figure, LeftOut, Table

HEAD = ("Outcome due in", "Share", "Limits", "Judged")
NOT_COMPLETE = "not complete, not judged"
COMPLETE_RULE = (
    "A case counts in the month of its outcome day, whenever it was discharged. A "
    "month is complete once the last outcome window in it has closed; before that its "
    "results are few and not typical, so it is marked and not judged."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """How one share over the months is called."""

    subject: str
    title: str
    done: str
    direction: str
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Held:
    """One stretch of months, held against the limits if there are any."""

    stretch: Stretch
    low: float | None
    high: float | None

    @property
    def judged(self) -> str:
        """Say where it lies, or why nothing is said."""
        if not self.stretch.is_complete:
            return NOT_COMPLETE
        if not self.stretch.is_drawn:
            return f"fewer than {FLOOR} yet"
        if self.low is None or self.high is None:
            return DASH
        share = self.stretch.count.share
        if self.low <= share <= self.high:
            return "inside"
        return "above the limits" if share > self.high else "below the limits"

    @property
    def is_outside(self) -> bool:
        """Tell whether it lies outside the limits."""
        return self.judged.endswith("the limits")

    @property
    def is_judged(self) -> bool:
        """Tell whether it is a point that counts."""
        return self.stretch.is_complete and self.stretch.is_drawn


def share_block(
    data: PeriodData,
    words: Words,
    parts: Sequence[Stretch],
    sets: CaseSets,
    left_out: tuple[LeftOut, ...],
) -> Block:
    """Return a share over the months; without a point it is a table alone."""
    reference = reference_for(data, words.subject)
    numbers = reference["numbers"] if reference else None
    held = [_hold(part, numbers) for part in parts]
    said = _says(data, words, held, numbers)
    return Block(
        title=words.title,
        says=" ".join(filter(None, [said, basis_words(data, reference)])),
        table=_table(words, held, sets),
        figure=_figure(data, words, held, numbers),
        n=sum(part.count.of for part in parts),
        of=len(data.cases),
        of_what="cases of the period",
        left_out=left_out,
        notes=(*_notes(words, held, numbers), *basis_note(reference)),
    )


def _hold(part: Stretch, numbers: Mapping[str, Any] | None) -> Held:
    if numbers is None or not part.is_drawn:
        return Held(part, None, None)
    found = share_limits(numbers["centre"], [part.count.of], widened=numbers["widened"])
    return Held(part, float(found.low[0]), float(found.high[0]))


def _says(
    data: PeriodData,
    words: Words,
    held: Sequence[Held],
    numbers: Mapping[str, Any] | None,
) -> str:
    judged = [one for one in held if one.is_judged]
    if not len(data.cases):
        return "No case was opened in the period."
    if not judged:
        return f"No complete month has {FLOOR} cases yet, also not put together."
    done = sum(one.stretch.count.reached for one in judged)
    of = sum(one.stretch.count.of for one in judged)
    said = [
        f"In {plural(len(judged), 'complete point')} {counted(done, of)} {words.done}."
    ]
    if numbers:
        said.append(_against(judged, numbers))
    shares = [one.stretch.count.share for one in judged]
    said.append(shift_words(shares, numbers["median"] if numbers else None))
    return " ".join(said)


def _against(judged: Sequence[Held], numbers: Mapping[str, Any]) -> str:
    rate = percent(100 * numbers["centre"])
    out = [f"{one.stretch.name} ({one.judged})" for one in judged if one.is_outside]
    if not out:
        return f"Against {rate} in the reference period, no point lies outside."
    lie = "lies" if len(out) == 1 else "lie"
    return f"Against {rate} in the reference period, {listed(out)} {lie} outside."


def _table(words: Words, held: Sequence[Held], sets: CaseSets) -> Table:
    rows = []
    for number, one in enumerate(held):
        part = one.stretch
        name = f"{words.subject.replace('-', '_')}_{number}"
        limits = DASH
        if one.low is not None and one.high is not None:
            limits = f"{percent(100 * one.low)} to {percent(100 * one.high)}"
        rows.append(
            (
                Cell(part.name, sets.keep(f"{name}_of", part.cases)),
                sets.share(name, part.hits, of=part.count.of),
                Cell(limits),
                Cell(one.judged),
            )
        )
    return Table(f"{words.title}, by month of the outcome day", HEAD, tuple(rows))


def _figure(
    data: PeriodData,
    words: Words,
    held: Sequence[Held],
    numbers: Mapping[str, Any] | None,
) -> Figure | None:
    points = [_point(one) for one in held if one.stretch.is_drawn]
    if len(points) < 2:
        return None
    frame = Frame(
        title="Per cent",
        top=100,
        centre=100 * numbers["centre"] if numbers else None,
        changes=data.changes,
    )
    drawn = months_figure(points, frame)
    return Figure(words.subject, words.title, words.direction, drawn)


def _point(one: Held) -> MonthPoint:
    count = one.stretch.count
    return MonthPoint(
        on=one.stretch.middle,
        value=100 * count.share,
        words=f"{one.stretch.name}: {counted(count.reached, count.of)}",
        is_complete=one.stretch.is_complete,
        is_outside=one.is_outside,
        low=None if one.low is None else 100 * one.low,
        high=None if one.high is None else 100 * one.high,
    )


def _notes(
    words: Words, held: Sequence[Held], numbers: Mapping[str, Any] | None
) -> tuple[str, ...]:
    notes = [*words.notes, COMPLETE_RULE, POOLED_RULE]
    if numbers:
        notes.append(_limits_rule(numbers["widened"]))
        full = sum(
            one.is_judged and one.high is not None and one.high >= 1 for one in held
        )
        if full:
            notes.append(
                f"In {plural(full, 'point')} the upper limit is 100 %: with so few "
                "cases this chart cannot signal upwards there."
            )
    shares = [one.stretch.count.share for one in held if one.is_judged]
    return (*notes, runs_rule(shares, numbers["median"] if numbers else None))


def _limits_rule(widened: float) -> str:
    plain = "Limits: the reference share plus and minus 3 standard errors (p-chart)"
    if widened > 1:
        return (
            f"{plain}, widened by {widened:.2f} for spread beyond chance (Laney 2002, "
            f"moving range), since each point has {LARGE_MONTH} cases or more."
        )
    return (
        f"{plain}. They are widened for spread beyond chance only where each point of "
        f"the reference has {LARGE_MONTH} cases or more (project assumption), and "
        "never narrowed."
    )
