"""How one editable number of a site's policy describes itself."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

ASSUMED = "project assumption"
PUBLISHED = "confirmed"
STANDARD = "standard formula"
MEMORY = "from memory"

OWN_THRESHOLDS = "Thresholds of a measure"


class Shape(StrEnum):
    """What a policy value looks like when it is typed."""

    WHOLE = "whole"
    NUMBER = "number"
    WEEKS = "weeks"
    OPTIONAL = "optional"


@dataclass(frozen=True, slots=True)
class PolicyField:
    """One editable number: what it is, its allowed range and why the default."""

    name: str
    label: str
    unit: str
    shape: Shape
    low: float
    high: float
    default: Any
    reason: str
    mark: str
    group: str


def setting(
    default: Any,
    label: str,
    *,
    unit: str,
    allowed: tuple[float, float],
    why: str,
    group: str,
    mark: str = ASSUMED,
    shape: Shape = Shape.WHOLE,
) -> Any:
    """Return a dataclass field that carries its label, range and reason with it."""
    meta = {"label": label, "unit": unit, "shape": shape, "low": allowed[0]}
    meta |= {"high": allowed[1], "reason": why, "mark": mark, "group": group}
    return field(default=default, metadata=meta)


def override(what: str, measure: str, *, allowed: tuple[float, float]) -> Any:
    """Return a field that replaces a catalogue number of one measure when filled."""
    return setting(
        None,
        f"{measure}: {what}",
        unit="points",
        allowed=allowed,
        why="Empty keeps the catalogue's number, which is shown with its source.",
        group=OWN_THRESHOLDS,
        mark="see catalogue",
        shape=Shape.OPTIONAL,
    )
