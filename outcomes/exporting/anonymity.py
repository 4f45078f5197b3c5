"""k-anonymity and l-diversity at every level in one pass, and the level to take.

k counts people, not rows: somebody with two knees in one class is still one person, so
this is stricter than the definition by rows (Sweeney 2002, IJUFKS 10:571-588).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from .generalising import Level, Quasi, Shown


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The level taken, which classes may leave, what is held back, and why."""

    level: Level
    classes: frozenset[Shown]
    k: int
    l_values: int
    most_suppressed: float
    rows: int  # all rows of the period that may be shared
    people: int
    suppressed_rows: int
    suppressed_people: int  # at least; 0, or k and more
    because: str  # sentences for the manifest and the preview
    # For each level up to the one taken: rows that had to be held back there.
    tried: tuple[tuple[Level, int], ...]

    def shown(self, quasi: Quasi) -> Shown | None:
        """Return what the row of an episode shows; None where it is held back."""
        raise NotImplementedError


@dataclass(frozen=True, slots=True)
class Refused:
    """No export may be made; `sentence` says why and what to do."""

    sentence: str


class Tally:
    """Counts of every class at every level; its size grows with classes, not rows."""

    def __init__(self, *, most_values: int = 5) -> None:
        """Keep up to `most_values` different sensitive values per class."""

    def add(self, person: int, quasi: Quasi, sensitive: tuple[str, ...]) -> None:
        """Count one row; rows come in rising order of person, else ValueError.

        `sensitive` holds one value for each sensitive column, always as many; an empty
        one counts as a value of its own.
        """
        raise NotImplementedError

    def plan(
        self, *, k: int = 5, l_values: int = 2, most_suppressed: float = 0.10
    ) -> Plan | Refused:
        """Take the first level at which few enough rows are held back."""
        raise NotImplementedError


def is_k_anonymous(rows: Iterable[tuple[str, ...]], *, k: int) -> bool:
    """Tell whether each combination of quasi-identifiers stands in k rows or more."""
    raise NotImplementedError


def is_l_diverse(rows: Iterable[tuple[tuple[str, ...], str]], *, l_values: int) -> bool:
    """Tell whether each combination has as many different sensitive values or more."""
    raise NotImplementedError
