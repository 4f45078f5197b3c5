"""Published sizes of change: how large, for whom, by which method, says who."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from clinic.sourced.sources import SET_HERE, Source, read_source
from clinic.sourced.strict_toml import Table

from .measurement_error import Z_OF_LEVEL, sem_from_mdc


class Kind(StrEnum):
    """The two questions: beyond measurement error, and large enough to matter."""

    MDC = "mdc"
    MCID = "mcid"


@dataclass(frozen=True, slots=True)
class Threshold:
    """A published or assumed size of change, in scale points of improvement.

    `percent` asks for that share of the baseline as well. `is_offered` is
    false for a value kept on record that does not suit this condition.
    """

    kind: Kind
    value: float
    applies_to: str
    percent: float | None
    level: int | None
    population: str
    method: str
    source: Source
    default: bool
    note: str
    is_offered: bool = True

    @property
    def sem(self) -> float | None:
        """Standard error of measurement that this MDC implies, MDC/(z*sqrt 2)."""
        if self.kind is not Kind.MDC or self.level is None:
            return None
        return sem_from_mdc(self.value, self.level)


def read_threshold(table: Table) -> Threshold:
    """Read one threshold with its population, method, level and source."""
    if table.has("ratings"):  # the pain ratings that a row is for
        table.sequence("ratings")
    threshold = Threshold(
        kind=Kind(table.choice("kind", tuple(Kind))),
        value=table.number("value"),
        applies_to=table.choice("applies_to", ("total", "average", "single")),
        percent=table.optional_number("percent"),
        level=table.optional_whole("level"),
        population=table.text("population"),
        method=table.text("method"),
        source=read_source(table.table("source")),
        default=table.flag("default", default=False),
        note=table.text("note", ""),
        is_offered=table.flag("is_offered", default=True),
    )
    if threshold.level is not None and threshold.level not in Z_OF_LEVEL:
        raise table.fail("level", "must be 90 or 95, or left out where not stated")
    table.finish()
    return threshold


def chosen(
    thresholds: Sequence[Threshold],
    kind: Kind,
    value: float | None,
    *,
    applies_to: str,
) -> Threshold:
    """The default of a kind, or the one with a site's own value.

    A published value keeps its source; any other is marked as set by the clinic
    and loses its level. Raises LookupError where the measure has no such kind.
    """
    fitting = [t for t in thresholds if t.kind is kind and t.applies_to == applies_to]
    default = next((t for t in fitting if t.default), None)
    if default is None:
        raise LookupError(f"No default {kind} for {applies_to}.")
    if value is None or value == default.value:
        return default
    for threshold in fitting:
        if threshold.value == value and threshold.is_offered:
            return replace(threshold, percent=default.percent)
    own = Source("Set by this clinic", SET_HERE)
    return replace(
        default,
        value=value,
        level=None,
        source=own,
        default=False,
        population="not stated",
        method="set by this clinic",
        note="",
    )
