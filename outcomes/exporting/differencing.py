"""Whether two exports, held against each other, single somebody out.

Who holds both can take one from the other; what is left must be nobody, or at least k
people, on either side. Project assumption: the reference asks that the attack fails.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Set
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Overlap:
    """How many people two exports share, and how many are in one of them only."""

    shared: int
    only_earlier: int
    only_later: int

    @classmethod
    def between(cls, earlier: Set[Hashable], later: Set[Hashable]) -> Overlap:
        """Count two sets of released people."""
        return cls(len(earlier & later), len(earlier - later), len(later - earlier))

    def is_safe(self, *, k: int = 5) -> bool:
        """Tell whether neither difference leaves 1 to k - 1 people."""
        left = (self.only_earlier, self.only_later)
        return not self.shared or not any(0 < count < k for count in left)

    def sentence(self, *, k: int = 5) -> str:
        """Say what is wrong and what to do; empty where the two may stand together."""
        raise NotImplementedError


def thin_classes(
    classes: Mapping[Hashable, Overlap], *, k: int = 5
) -> tuple[Hashable, ...]:
    """Return the classes of the later export in which a difference singles out.

    Stricter than the whole: a class may leave one new person although the exports as
    a whole leave many. The caller warns of it, or widens the period.
    """
    return tuple(name for name, one in classes.items() if not one.is_safe(k=k))
