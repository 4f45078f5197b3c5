"""Panels of the physical tests: both sides on one figure, the same in a table."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from clinic.models import Episode
from clinic.templatetags.clinic_format import day, percent

from .models import PhysicalResult
from .panels import Chart
from .physical_course import (
    NOT_DONE,
    PhysicalDay,
    physical_days,
    result_words,
    torque_of,
)
from .physical_recording import sides_of
from .science.phrases import number_words
from .science.physical_tests import PhysicalTest, Symmetry, Takes, TrialRule
from .science.thresholds import Threshold

NO_THRESHOLD = (
    "No published threshold for this test is known to this project, "
    "so no verdict is given."
)


@dataclass(frozen=True, slots=True)
class PhysicalPanel:
    """One physical test of the case: its course, and every result as entered."""

    about: PhysicalTest
    days: list[PhysicalDay]
    chart: Chart

    @property
    def latest(self) -> PhysicalDay:
        """The last day of this test."""
        return self.days[-1]

    @property
    def newest_first(self) -> list[PhysicalDay]:
        """The days for a list that opens with today's."""
        return self.days[::-1]


def physical_panels(
    episode: Episode,
    rows: Sequence[PhysicalResult],
    *,
    span: tuple[date, date],
) -> list[PhysicalPanel]:
    """Return a panel for every test that was done, on the time axis of the case."""
    return [
        PhysicalPanel(days[0].about, days, _chart(days, index=episode.side, span=span))
        for days in physical_days(rows, index=episode.side).values()
    ]


def _chart(days: list[PhysicalDay], *, index: str, span: tuple[date, date]) -> Chart:
    about = days[0].about
    return Chart(
        id=f"chart-test-{about.key.replace('_', '-')}",
        title=about.name,
        direction=f"{about.unit}, {about.better.sentence}",
        json=_figure(days, index=index, span=span),
        table_head=_head(about, index=index),
        table_rows=[_row(one) for one in days],
        notes=_notes(about, days),
    )


def _figure(
    days: list[PhysicalDay], *, index: str, span: tuple[date, date]
) -> dict[str, Any]:
    from .science.charts import Line, sides_figure

    about = days[0].about
    lines = [
        Line(
            name=side_name(side, index=index) or about.short_name,
            is_index=side in (index, ""),
            points=[
                (one.on, row.value)
                for one in days
                if (row := one.of(side)) and row.value is not None
            ],
        )
        for side in sides_of(about)
    ]
    return sides_figure(
        lines,
        unit=about.unit,
        top=about.high if about.quantity == "rating" else None,
        span=span,
    )


def side_name(side: str, *, index: str) -> str:
    """Return "Left (index side)" or "Right"; nothing for the person as a whole."""
    return f"{side.capitalize()} (index side)" if side == index else side.capitalize()


def _head(about: PhysicalTest, *, index: str) -> tuple[str, ...]:
    if about.takes is Takes.PERSON:
        return ("Day", about.short_name, "How it was done")
    head = ["Day", *(side_name(side, index=index) for side in sides_of(about))]
    if about.has_symmetry:
        head.append("Symmetry")
    if about.lever_arm:
        head.append("Torque, left and right")
    if about.quantity != "rating":
        head.append("Pain, left and right")
    return (*head, "How it was done")


def _row(one: PhysicalDay) -> tuple[str, ...]:
    about, sides = one.about, sides_of(one.about)
    results = [result_words(about, one.of(side)) for side in sides]
    cells = [day(one.on), *map(_unbroken, results)]
    if about.has_symmetry:
        cells.append(_symmetry(one))
    if about.lever_arm:
        cells.append(_both(one, [_torque(about, one.of(side)) for side in sides]))
    if about.takes is Takes.BOTH_SIDES and about.quantity != "rating":
        cells.append(_both(one, [_pain(one.of(side)) for side in sides]))
    return (*cells, one.how or NOT_DONE)


def _symmetry(one: PhysicalDay) -> str:
    if not isinstance(one.symmetry, Symmetry):
        return NOT_DONE
    return percent(one.symmetry.percent)


def _torque(about: PhysicalTest, row: PhysicalResult | None) -> str:
    found = torque_of(about, row)
    if found is None:
        return NOT_DONE
    words = _unbroken(f"{number_words(found.nm)} Nm")
    if found.nm_per_kg is None:
        return words
    per_kg = _unbroken(f"({number_words(found.nm_per_kg, decimals=2)} Nm/kg)")
    return f"{words} {per_kg}"


def _unbroken(words: str) -> str:
    """Keep a number and its unit on one line."""
    return words.replace(" ", "\N{NO-BREAK SPACE}")


def _pain(row: PhysicalResult | None) -> str:
    return NOT_DONE if row is None or row.pain is None else str(row.pain)


def _both(one: PhysicalDay, words: list[str]) -> str:
    """Join what belongs to two sides; one dash where neither has anything."""
    return NOT_DONE if set(words) == {NOT_DONE} else ", ".join(words)


def _notes(about: PhysicalTest, days: list[PhysicalDay]) -> tuple[str, ...]:
    """Say how trials count, what symmetry compares, and whose thresholds these are."""
    notes = [_rule_words(about)]
    if about.has_symmetry:
        notes.append(_symmetry_words(about))
    rows = [row for one in days for row in one.results.values()]
    if any(row.edition != about.edition for row in rows):
        notes.append("Some results follow an earlier edition of this test.")
    if _has_moved_pad(rows):
        notes.append("The lever arm differs between days: compare torque, not force.")
    return (*notes, *threshold_notes(about))


def _has_moved_pad(rows: Iterable[PhysicalResult]) -> bool:
    """Tell whether a side was ever tested with another lever arm."""
    arms: dict[str, set[float]] = {}
    for row in rows:
        if row.lever_arm_m is not None:
            arms.setdefault(row.side, set()).add(row.lever_arm_m)
    return any(len(found) > 1 for found in arms.values())


def _rule_words(about: PhysicalTest) -> str:
    planned = about.trials.planned
    if planned == 1:
        return "One trial."
    is_mean = about.trials.rule is TrialRule.MEAN
    return f"The {'mean' if is_mean else 'best'} of {planned} trials."


def _symmetry_words(about: PhysicalTest) -> str:
    compared = "the index side in per cent of the other side"
    if about.lever_arm is None:
        return f"Symmetry: {compared}."
    return f"Symmetry: {compared}; by torque where both lever arms are known."


def threshold_notes(about: PhysicalTest) -> tuple[str, ...]:
    """Return published sizes of change with their source, or that none is known."""
    if not about.thresholds:
        return (NO_THRESHOLD,)
    return tuple(map(_threshold_words, about.thresholds))


def _threshold_words(found: Threshold) -> str:
    return (
        f"Published for {found.population}: {found.value:g} ({found.source.brief}). "
        "It is shown for the record; no verdict is drawn from it."
    )
