"""Numbers that a site may set: how each describes itself, and how it is read."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields
from enum import StrEnum
from itertools import pairwise
from typing import Any

from .sources import ASSUMED


class Shape(StrEnum):
    """What a policy value looks like when it is typed."""

    WHOLE = "whole"
    NUMBER = "number"
    OPTIONAL = "optional"
    WEEKS = "weeks"
    CHOICE = "choice"


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
    choices: tuple[str, ...] = ()


class PolicyError(ValueError):
    """Values that make no policy; `errors` maps a field to a sentence about it."""

    def __init__(self, errors: Mapping[str, str]) -> None:
        """Keep one sentence per field."""
        self.errors = dict(errors)
        super().__init__("; ".join(f"{key}: {text}" for key, text in errors.items()))


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


def choice(
    default: str, label: str, *, choices: tuple[str, ...], why: str, group: str
) -> Any:
    """Return a dataclass field for a named choice; its unit says so."""
    meta = {"label": label, "unit": "name", "shape": Shape.CHOICE, "low": 0, "high": 0}
    meta |= {"reason": why, "mark": ASSUMED, "group": group, "choices": choices}
    return field(default=default, metadata=meta)


def fields_of(policy: type) -> tuple[PolicyField, ...]:
    """Return what a dataclass of settings says of each, in its order."""
    return tuple(
        PolicyField(name=item.name, default=item.default, **item.metadata)
        for item in fields(policy)
    )


def read_values(
    settings: Iterable[PolicyField], values: Mapping[str, object]
) -> dict[str, Any]:
    """Return values typed into a form or kept as JSON, each in its type.

    PolicyError lists every one that is wrong.
    """
    known = {item.name: item for item in settings}
    read: dict[str, Any] = {}
    errors: dict[str, str] = {}
    for name, raw in values.items():
        if name not in known:
            errors[str(name)] = "There is no such setting."
            continue
        try:
            read[name] = _read(known[name], raw)
        except ValueError as error:
            errors[name] = str(error)
    if errors:
        raise PolicyError(errors)
    return read


def _read(item: PolicyField, raw: object) -> object:
    if item.shape is Shape.CHOICE:
        return _read_choice(item, raw)
    if item.shape is Shape.WEEKS:
        return _read_weeks(item, raw)
    if _is_blank(raw) and item.shape is Shape.OPTIONAL:
        return None
    return _read_number(item, raw, is_whole=item.shape is Shape.WHOLE)


def _is_blank(raw: object) -> bool:
    return raw is None or (isinstance(raw, str) and not raw.strip())


def _read_choice(item: PolicyField, raw: object) -> object:
    if raw not in item.choices:
        raise ValueError(f"Choose one of {', '.join(item.choices)}.")
    return raw


def _read_number(item: PolicyField, raw: object, *, is_whole: bool) -> float | int:
    kind = "whole number" if is_whole else "number"
    wrong = f"Enter a {kind} from {item.low:g} to {item.high:g}."
    if isinstance(raw, bool) or not isinstance(raw, int | float | str):
        raise ValueError(wrong)
    try:
        number = float(raw)
    except (ValueError, OverflowError):
        raise ValueError(wrong) from None
    if not math.isfinite(number) or not item.low <= number <= item.high:
        raise ValueError(wrong)
    if is_whole and number != int(number):
        raise ValueError(wrong)
    return int(number) if is_whole else number


def _read_weeks(item: PolicyField, raw: object) -> tuple[int, ...]:
    parts: list[object]
    if isinstance(raw, str):
        parts = [part for part in raw.replace(",", " ").split() if part]
    elif isinstance(raw, list | tuple):
        parts = list(raw)
    else:
        parts = []
    if not parts:
        raise ValueError("Enter whole weeks with commas between, such as 0, 3, 6.")
    weeks = tuple(int(_read_number(item, part, is_whole=True)) for part in parts)
    if weeks[0] != 0:
        raise ValueError("The first week must be 0, the baseline.")
    if any(later <= earlier for earlier, later in pairwise(weeks)):
        raise ValueError("Each week must be later than the one before it.")
    return weeks
