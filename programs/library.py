"""The exercise library: its entries by key, its ladders in order.

Read once from `exercises/*.toml`. The clinic's own entries live elsewhere; these are
the same for everyone and never change while the program runs.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType

from .library_entries import Exercise, Group, Kind
from .library_reading import read_library

FOLDER = Path(__file__).parent / "exercises"


@cache
def groups() -> Mapping[str, Group]:
    """Every file of the library by key: ladders, adjuncts, education."""
    return MappingProxyType(read_library(FOLDER))


@cache
def library() -> Mapping[str, Exercise]:
    """Every entry by key, ladder by ladder; DataFileError names file and key."""
    entries = (entry for group in groups().values() for entry in group.entries)
    return MappingProxyType({entry.key: entry for entry in entries})


def exercise(key: str) -> Exercise:
    """The entry with this key; KeyError where there is none."""
    try:
        return library()[key]
    except KeyError:
        raise KeyError(f"No entry {key!r} in the exercise library.") from None


def ladders() -> Mapping[str, Group]:
    """The groups that have an order, by key."""
    found = {key: one for key, one in groups().items() if one.kind.is_laddered}
    return MappingProxyType(found)


def ladder(name: str) -> tuple[Exercise, ...]:
    """The rungs of a ladder, easiest first; KeyError lists the known ladders."""
    known = ladders()
    if name not in known:
        raise KeyError(f"No ladder {name!r}; the ladders are {', '.join(known)}.")
    return known[name].entries


def easier(key: str) -> Exercise | None:
    """The next rung down; None on the lowest rung and outside ladders."""
    return _neighbour(exercise(key), -1)


def harder(key: str) -> Exercise | None:
    """The next rung up; None on the highest rung and outside ladders."""
    return _neighbour(exercise(key), +1)


def leads_to(key: str) -> tuple[Exercise, ...]:
    """Entries of other ladders that this one prepares for."""
    return tuple(exercise(target) for target in exercise(key).leads_to)


def comes_from(key: str) -> tuple[Exercise, ...]:
    """Entries of other ladders that prepare for this one."""
    wanted = exercise(key).key
    return tuple(one for one in library().values() if wanted in one.leads_to)


def of_kind(kind: Kind) -> tuple[Exercise, ...]:
    """The entries of one kind, in the library's order."""
    return tuple(one for one in library().values() if one.kind is kind)


def _neighbour(entry: Exercise, step: int) -> Exercise | None:
    if entry.ladder is None or entry.rung is None:
        return None
    rungs = ladder(entry.ladder)
    place = entry.rung - 1 + step
    return rungs[place] if 0 <= place < len(rungs) else None
