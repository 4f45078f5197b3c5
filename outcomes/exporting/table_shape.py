"""What a column and a file of the export are described by."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from .windows import WEEKS

BANDED = "Only in bands; the level of the export may join or drop them."
ROUNDED = (
    "No date leaves: rounded to the nearest window of weeks after the episode opened."
)
AS_IT_IS = "Leaves as it is: what a stranger does not see."
CODED = "One of a fixed list; no words of a person."


class Type(StrEnum):
    """How a cell is written, by the names of Table Schema."""

    TEXT = "string"
    WHOLE = "integer"
    NUMBER = "number"
    YEAR = "year"


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column: what it means, what it may hold, and by which rule it may leave."""

    name: str
    title: str
    type: Type
    rule: str  # the de-identification rule applied
    source: str  # Model.field it comes from, or how it is made
    unit: str = ""
    direction: str = ""  # a sentence, for a scale
    allowed: tuple[str | int, ...] = ()
    pattern: str = ""  # of the whole cell
    form: str = ""  # the pattern in words
    low: float | None = None
    high: float | None = None
    is_required: bool = False  # never empty, at no level


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """One file of the export."""

    name: str  # without .csv
    title: str
    row_is: str
    order: str  # the order of rows, which must tell nothing of the record's own
    columns: tuple[Column, ...]
    unique: tuple[str, ...] = ()  # primary key of Table Schema

    @property
    def file_name(self) -> str:
        """Return the name of its file."""
        return f"{self.name}.csv"


def words(
    name: str,
    title: str,
    allowed: tuple[str, ...],
    *,
    source: str,
    rule: str = CODED,
    is_required: bool = False,
) -> Column:
    """Describe a column of listed words."""
    return Column(
        name=name,
        title=title,
        type=Type.TEXT,
        rule=rule,
        source=source,
        allowed=allowed,
        is_required=is_required,
    )


def whole(
    name: str,
    title: str,
    source: str,
    *,
    unit: str = "",
    low: int = 0,
    high: int | None = None,
) -> Column:
    """Describe a column of whole numbers that leave as they are."""
    return Column(
        name=name,
        title=title,
        type=Type.WHOLE,
        rule=AS_IT_IS,
        source=source,
        unit=unit,
        low=low,
        high=high,
    )


def window(name: str, title: str, source: str, *, is_required: bool = False) -> Column:
    """Describe a day, given as the nearest window of weeks after opening."""
    return Column(
        name=name,
        title=f"{title}, in weeks after opening",
        type=Type.WHOLE,
        rule=ROUNDED,
        source=source,
        unit="weeks",
        allowed=WEEKS,
        is_required=is_required,
    )


def pain(name: str, title: str, source: str) -> Column:
    """Describe a rating of pain from 0 to 10."""
    return Column(
        name=name,
        title=title,
        type=Type.WHOLE,
        rule=AS_IT_IS,
        source=f"{source}.{name}",
        unit="points",
        direction="Lower is better.",
        low=0,
        high=10,
    )
