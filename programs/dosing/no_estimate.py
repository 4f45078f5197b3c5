"""The answer "cannot say", and the number guards that give it."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class NoEstimate:
    """No number can be given: the reason as a sentence, and the field it is about."""

    reason: str
    field: str = ""


def plain(value: float, *, decimals: int = 1) -> str:
    """Return a number without needless zeros."""
    text = f"{round(float(value), decimals) + 0.0:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def outside(
    value: object, *, low: float, high: float, what: str, unit: str, field: str
) -> NoEstimate | None:
    """Return the refusal of a value that is no number from low to high, else None."""
    span = f"{plain(low, decimals=2)} to {plain(high, decimals=2)}{unit and f' {unit}'}"
    if value is None:
        return NoEstimate(f"{what} is not given; it must be {span}.", field)
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    if not is_number or not math.isfinite(value):  # type: ignore[arg-type]
        return NoEstimate(f"{what} must be a number, {span}.", field)
    if not low <= value <= high:  # type: ignore[operator]
        shown = plain(value, decimals=2)  # type: ignore[arg-type]
        return NoEstimate(f"{what} is {shown}; it must be {span}.", field)
    return None


def not_whole(
    value: object, *, low: int, high: int, what: str, field: str
) -> NoEstimate | None:
    """Return the refusal of a value that is no whole number from low to high."""
    if refusal := outside(value, low=low, high=high, what=what, unit="", field=field):
        return refusal
    if value != int(value):  # type: ignore[call-overload]
        return NoEstimate(f"{what} must be a whole number, {low} to {high}.", field)
    return None
