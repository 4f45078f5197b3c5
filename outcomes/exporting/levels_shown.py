"""What a level leaves of the columns that a stranger may know."""

from __future__ import annotations

from ..period_choice import DURATIONS
from .generalising import (
    AGE_BANDS,
    DROPPED,
    SEXES,
    SIDES,
    Quasi,
    Shown,
    at_level,
)
from .table_shape import Column

# A year and a code that stand for all.
_YEAR, _CODE = 2000, "C1"


def shown_at(name: str, level: int) -> tuple[str, ...]:
    """Return the different values that a column of Shown may take at a level."""
    everybody = (
        Quasi(age, sex, side, duration, _YEAR, _CODE)
        for age in AGE_BANDS
        for sex in SEXES
        for side in SIDES
        for duration in DURATIONS
    )
    values = (getattr(at_level(quasi, level), name) for quasi in everybody)
    return tuple(dict.fromkeys(values))


def is_empty_at(column: Column, level: int) -> bool:
    """Tell whether the level drops the column, so that every cell is empty."""
    is_known = column.name in Shown._fields
    return is_known and shown_at(column.name, level) == (DROPPED,)


def allowed_at(column: Column, level: int) -> tuple[str | int, ...]:
    """Return the listed values that may stand in a column at a level."""
    if column.name not in Shown._fields or not column.allowed:
        return column.allowed
    left = shown_at(column.name, level)
    return tuple(value for value in left if value in column.allowed)
