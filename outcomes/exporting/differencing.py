"""Whether two exports, held against each other, single somebody out.

Who holds both can take one from the other; what is left must be nobody, or at least k
people, on either side. Project assumption: the reference asks that the attack fails.
A caller holds a new export against each earlier one, and against all of them together:
two earlier ones may between them hold all but one of the people of a third.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Overlap:
    """How many people two exports share, and how many are in one of them only.

    Counted are the people behind the rows: somebody whose second knee is only in the
    later export is in it only, although their first knee is in both.
    """

    shared: int
    only_earlier: int
    only_later: int

    @classmethod
    def between(
        cls, earlier: Mapping[Hashable, int], later: Mapping[Hashable, int]
    ) -> Overlap:
        """Count the people of two exports, each given as {episode: person}."""
        return cls(
            shared=len({earlier[episode] for episode in earlier.keys() & later.keys()}),
            only_earlier=len({earlier[one] for one in earlier.keys() - later.keys()}),
            only_later=len({later[one] for one in later.keys() - earlier.keys()}),
        )

    def is_safe(self, *, k: int = 5) -> bool:
        """Tell whether neither difference leaves 1 to k - 1 people."""
        left = (self.only_earlier, self.only_later)
        return not self.shared or not any(0 < count < k for count in left)

    def sentence(self, *, k: int = 5) -> str:
        """Say what is wrong and what to do; empty where the two may stand together."""
        if self.is_safe(k=k):
            return ""
        thin = [
            f"{people_in_words(count)} only in the {which}"
            for which, count in (
                ("earlier export", self.only_earlier),
                ("new one", self.only_later),
            )
            if 0 < count < k
        ]
        return (
            f"Held against an earlier export, this one leaves {' and '.join(thin)}: "
            f"whoever has both could single them out. It must be nobody, or {k} or "
            "more. Widen the period until more people are new, take the same period "
            "again, or shift it until it shares nobody with the earlier one."
        )


def people_in_words(count: int) -> str:
    """Return "1 person" or "3 people"."""
    return "1 person" if count == 1 else f"{count} people"


def thin_groups(rows: Iterable[tuple[int, Hashable]], *, k: int = 5) -> int:
    """Count the groups of alike rows in which a difference leaves fewer than k people.

    `rows` are (person, group) of what only one of two exports holds, in order of
    person. Stricter than the whole: the course of scores tells which rows both hold,
    so whoever knows who is new looks for them by age and sex among the rest.
    """
    people: Counter[Hashable] = Counter()
    last: dict[Hashable, int] = {}
    for person, group in rows:
        if last.get(group) != person:
            last[group] = person
            people[group] += 1
    return sum(count < k for count in people.values())


def thin_sentence(groups: int, *, k: int = 5) -> str:
    """Say what is wrong with thin groups and what to do; empty where there is none."""
    if not groups:
        return ""
    counted = "1 group" if groups == 1 else f"{groups} groups"
    return (
        f"Held against an earlier export, this one leaves {counted} of alike rows in "
        f"which fewer than {k} people are in one of the two only: whoever has both "
        "could single them out. Begin and end both periods at the turn of a year, take "
        "the same period again, or shift it until it shares nobody with the earlier "
        "one."
    )
