"""Reading one policy value as it was typed into a form or kept as JSON."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from itertools import pairwise
from typing import Any

from .policy_settings import PolicyField, Shape


class PolicyError(ValueError):
    """Values that make no policy; `errors` maps a field to a sentence about it."""

    def __init__(self, errors: Mapping[str, str]) -> None:
        """Keep one sentence per field."""
        self.errors = dict(errors)
        super().__init__("; ".join(f"{key}: {text}" for key, text in errors.items()))


def read_values(
    settings: Iterable[PolicyField], values: Mapping[str, object]
) -> dict[str, Any]:
    """Return the typed values; PolicyError lists every one that is wrong."""
    known = {item.name: item for item in settings}
    read: dict[str, Any] = {}
    errors: dict[str, str] = {}
    for name, raw in values.items():
        if name not in known:
            errors[str(name)] = "There is no such setting."
            continue
        try:
            read[name] = _read_value(known[name], raw)
        except ValueError as error:
            errors[name] = str(error)
    if errors:
        raise PolicyError(errors)
    return read


def at_odds(values: Mapping[str, Any]) -> dict[str, str]:
    """Return sentences about values that are each possible but not together."""
    errors: dict[str, str] = {}
    planned, weeks = values["planned_weeks"], values["schedule_weeks"]
    if values["first_review_weeks"] > planned:
        errors["first_review_weeks"] = (
            f"Progress cannot be judged first after the planned {planned} weeks."
        )
    gaps = [after - before for before, after in pairwise(weeks)]
    closest = 7 * min([*gaps, values["then_every_weeks"]])
    if values["early_days"] >= closest:
        errors["early_days"] = (
            f"Must be less than {closest} days, the closest two due dates; "
            "otherwise one look would answer for two."
        )
    return errors


def _read_value(item: PolicyField, raw: object) -> object:
    if item.shape is Shape.WEEKS:
        return _read_weeks(item, raw)
    if _is_blank(raw) and item.shape is Shape.OPTIONAL:
        return None
    return _read_number(item, raw, whole=item.shape is Shape.WHOLE)


def _is_blank(raw: object) -> bool:
    return raw is None or (isinstance(raw, str) and not raw.strip())


def _read_number(item: PolicyField, raw: object, *, whole: bool) -> float | int:
    kind = "whole number" if whole else "number"
    wrong = f"Enter a {kind} from {item.low:g} to {item.high:g}."
    if isinstance(raw, bool) or not isinstance(raw, int | float | str):
        raise ValueError(wrong)
    try:
        number = float(raw)
    except (ValueError, OverflowError):
        raise ValueError(wrong) from None
    if not math.isfinite(number) or not item.low <= number <= item.high:
        raise ValueError(wrong)
    if whole and number != int(number):
        raise ValueError(wrong)
    return int(number) if whole else number


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
    weeks = tuple(int(_read_number(item, part, whole=True)) for part in parts)
    if weeks[0] != 0:
        raise ValueError("The first week must be 0, the baseline.")
    if any(later <= earlier for earlier, later in pairwise(weeks)):
        raise ValueError("Each week must be later than the one before it.")
    return weeks
