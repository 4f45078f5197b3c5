"""Counts of cases: how they are written, and which cases stand behind them."""

from __future__ import annotations

from collections.abc import Iterable

from clinic.templatetags.clinic_format import DASH, percent

from ..science.group.small_numbers import Showing, share_shown
from .sections import Cell, LeftOut

HALF_A_PER_CENT = 0.5
ONE_DECLINED = "person who declines the use of their data for audit"
DECLINED = "people who decline the use of their data for audit"


def counted(count: int, of: int) -> str:
    """Return "12 of 30 (40 %)", below the floor "3 of 8", of none a dash."""
    showing = share_shown(of)
    if showing is Showing.NO_DATA:
        return DASH
    words = f"{count} of {of}"
    if showing is Showing.COUNTS:
        return words
    return f"{words} ({_per_cent(100 * count / of)})"


def _per_cent(share: float) -> str:
    """Return a whole per cent; what is neither none nor all is not written so."""
    if 0 < share < HALF_A_PER_CENT:
        return f"under {percent(1)}"
    if 100 - HALF_A_PER_CENT < share < 100:
        return f"over {percent(99)}"
    return percent(share)


class CaseSets:
    """Collects the cases behind each number of a section, under a name for links."""

    def __init__(self) -> None:
        self.named: dict[str, tuple[int, ...]] = {}

    def keep(self, name: str, episodes: Iterable[int]) -> str:
        """Keep a set and return its name; an empty set has none."""
        cases = tuple(sorted({int(episode) for episode in episodes}))
        if not cases:
            return ""
        self.named[name] = cases
        return name

    def cell(self, name: str, episodes: Iterable[int]) -> Cell:
        """Return the number of cases in a set, with the way to them."""
        kept = self.keep(name, episodes)
        return Cell(str(len(self.named.get(kept, ()))), kept)

    def share(self, name: str, episodes: Iterable[int], *, of: int) -> Cell:
        """Return how many of `of` cases are in a set, with the way to them."""
        kept = self.keep(name, episodes)
        return Cell(counted(len(self.named.get(kept, ())), of), kept)

    def left_out(self, words: str, name: str, episodes: Iterable[int]) -> LeftOut:
        """Return cases that a number does not cover, with the way to them."""
        kept = self.keep(name, episodes)
        return LeftOut(words, len(self.named.get(kept, ())), kept)


def declined(people: int) -> tuple[LeftOut, ...]:
    """Return how many people declined; nothing where nobody did."""
    words = ONE_DECLINED if people == 1 else DECLINED
    return (LeftOut(words, people),) if people else ()


def name_of(*words: str) -> str:
    """Return a name for a set: lower-case letters and underscores, for an address."""
    letters = (c if c.isalnum() and c.isascii() else " " for c in " ".join(words))
    return "_".join("".join(letters).lower().split())
