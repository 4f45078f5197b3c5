"""k-anonymity and l-diversity at every level in one pass, and the level to take.

k counts people, not rows: somebody with two knees in one class is still one person, so
this is stricter than the definition by rows (Sweeney 2002, IJUFKS 10:571-588). l counts
different values of each sensitive column in a class, an empty one being a value of its
own (Machanavajjhala 2007, ACM TKDD 1:3, from memory).

Whoever has a total of the clinic, say of verdicts from a report, can take the file from
it and learns the verdict of the one person who is held back. So those held back are
nobody, or k people and more: if need be the smallest classes that could have left stay
behind too (complementary suppression).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import count

from .generalising import LEVELS, Level, Quasi, Shown, at_level

NOBODY = (
    "There is no case to export: no case of this period is of a person whose record "
    "may be shared. Choose another period."
)


@dataclass(slots=True)
class _Class:
    """What is counted of one class at one level."""

    rows: int = 0
    people: int = 0
    # People whose first row stands here: these add up over classes without doubles.
    first: int = 0
    values: tuple[set[str], ...] = ()


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
    # For each level up to the one taken: rows that had to be held back there.
    tried: tuple[tuple[Level, int], ...]

    @property
    def released_rows(self) -> int:
        """How many episodes leave."""
        return self.rows - self.suppressed_rows

    @property
    def because(self) -> str:
        """Say in sentences which level was taken, and why none before it."""
        share = f"{self.most_suppressed:.0%} of the rows"
        level, held = self.level, self.suppressed_rows
        words = [f"Level {level.number} of {LEVELS[-1].number}, “{level.name}”."]
        if level.number:
            words.append(f"Every level before it would hold back more than {share}.")
        words.append(
            f"{held} of {self.rows} rows are held back, at most {share} being allowed."
            if held
            else f"None of the {self.rows} rows is held back."
        )
        return " ".join(words)

    def shown(self, quasi: Quasi) -> Shown | None:
        """Return what the row of an episode shows; None where it is held back."""
        shown = at_level(quasi, self.level.number)
        return shown if shown in self.classes else None


@dataclass(frozen=True, slots=True)
class Refused:
    """No export may be made; `sentence` says why and what to do."""

    sentence: str


@dataclass(frozen=True, slots=True)
class _Cut:
    """Which classes of one level leave, and what that holds back."""

    released: frozenset[Shown]
    rows: int
    people: int  # at least


class Tally:
    """Counts of every class at every level; its size grows with classes, not rows."""

    def __init__(self, *, most_values: int = 5) -> None:
        """Keep up to `most_values` different sensitive values per class."""
        self.rows = 0
        self.people = 0
        self._most_values = most_values
        self._person: int | None = None
        # The classes, level by level, in which the present person stands already.
        self._stands_in: list[set[Shown]] = [set() for _ in LEVELS]
        self._levels: list[dict[Shown, _Class]] = [{} for _ in LEVELS]
        self._columns: int | None = None

    def add(self, person: int, quasi: Quasi, sensitive: tuple[str, ...]) -> None:
        """Count one row; rows come in rising order of person, else ValueError.

        `sensitive` holds one value for each sensitive column, always as many; an empty
        one counts as a value of its own.
        """
        is_first = self._is_new(person)
        if self._columns is None:
            self._columns = len(sensitive)
        if len(sensitive) != self._columns:
            raise ValueError("Every row has as many sensitive values as the first.")
        self.rows += 1
        self.people += is_first
        for level, classes, stands_in in zip(
            count(), self._levels, self._stands_in, strict=False
        ):
            shown = at_level(quasi, level)
            one = classes.setdefault(
                shown, _Class(values=tuple(set() for _ in sensitive))
            )
            one.rows += 1
            one.first += is_first
            one.people += shown not in stands_in
            stands_in.add(shown)
            for kept, value in zip(one.values, sensitive, strict=True):
                if len(kept) < self._most_values:
                    kept.add(value)

    def plan(
        self, *, k: int = 5, l_values: int = 2, most_suppressed: float = 0.10
    ) -> Plan | Refused:
        """Take the first level at which few enough rows are held back."""
        if not 0 < l_values <= self._most_values:
            raise ValueError(f"l is from 1 to {self._most_values}.")
        if not self.rows:
            return Refused(NOBODY)
        tried: list[tuple[Level, int]] = []
        for level, classes in zip(LEVELS, self._levels, strict=True):
            cut = _cut(classes, k=k, l_values=l_values)
            tried.append((level, cut.rows))
            # A product such as 0.07 * 100 may come out a hair too small.
            if cut.released and cut.rows <= most_suppressed * self.rows + 1e-9:
                return Plan(
                    level=level,
                    classes=cut.released,
                    k=k,
                    l_values=l_values,
                    most_suppressed=most_suppressed,
                    rows=self.rows,
                    people=self.people,
                    suppressed_rows=cut.rows,
                    suppressed_people=cut.people,
                    tried=tuple(tried),
                )
        return _refused(self.people, k=k, l_values=l_values, most=most_suppressed)

    def _is_new(self, person: int) -> bool:
        """Tell whether this is the person's first row, and make room for them."""
        if person == self._person:
            return False
        if self._person is not None and person < self._person:
            raise ValueError("Rows come in rising order of person.")
        self._person = person
        for stands_in in self._stands_in:
            stands_in.clear()
        return True


def _cut(classes: dict[Shown, _Class], *, k: int, l_values: int) -> _Cut:
    """Hold back what is too small or too alike, then make what is held back enough."""
    held = {
        shown
        for shown, one in classes.items()
        if one.people < k or any(len(kept) < l_values for kept in one.values)
    }
    rows = sum(classes[shown].rows for shown in held)
    people = sum(classes[shown].first for shown in held)
    released = sorted(
        classes.keys() - held, key=lambda shown: (classes[shown].rows, shown)
    )
    while held and people < k and released:
        smallest = released.pop(0)
        held.add(smallest)
        rows += classes[smallest].rows
        people += classes[smallest].first
    return _Cut(frozenset(released), rows, people)


def _refused(people: int, *, k: int, l_values: int, most: float) -> Refused:
    """Say why not even the coarsest level will do."""
    return Refused(
        f"Even with all that may be coarsened, more than {most:.0%} of the rows would "
        f"have to be held back so that each stands among {k} people or more with "
        f"{l_values} different results or more. The period holds {people} "
        f"{'person' if people == 1 else 'people'}. Choose a longer period, or share "
        "counts of the caseload review instead."
    )


def is_k_anonymous(rows: Iterable[tuple[str, ...]], *, k: int) -> bool:
    """Tell whether each combination of quasi-identifiers stands in k rows or more."""
    counts: dict[tuple[str, ...], int] = {}
    for row in rows:
        counts[row] = counts.get(row, 0) + 1
    return all(found >= k for found in counts.values())


def is_l_diverse(rows: Iterable[tuple[tuple[str, ...], str]], *, l_values: int) -> bool:
    """Tell whether each combination has as many different sensitive values or more."""
    values: dict[tuple[str, ...], set[str]] = {}
    for quasi, value in rows:
        values.setdefault(quasi, set()).add(value)
    return all(len(found) >= l_values for found in values.values())
