"""The library as it stands on the pages: shelf by shelf, rung by rung."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from itertools import groupby

from django.conf import settings

from .library import groups
from .library_entries import TARGETS, Exercise, Group
from .lines import own_key
from .models import ClinicExercise


@dataclass(frozen=True, slots=True)
class OnShelf:
    """One entry of either library, as a list shows it."""

    key: str
    name: str
    rung: int | None
    entry: Exercise | ClinicExercise
    drawing: str

    @property
    def is_own(self) -> bool:
        """Whether the clinic added it."""
        return isinstance(self.entry, ClinicExercise)


@dataclass(frozen=True, slots=True)
class Shelf:
    """A ladder, or entries without an order, with what it is for."""

    key: str
    name: str
    target: str
    note: str
    is_ladder: bool
    entries: tuple[OnShelf, ...]


@cache
def _drawn() -> frozenset[str]:
    folder = settings.BASE_DIR / "static" / "drawings"
    return frozenset(path.stem for path in folder.glob("*.svg"))


def drawing_of(key: str) -> str:
    """Return the static path of an entry's drawing; nothing where there is none."""
    return f"drawings/{key}.svg" if key in _drawn() else ""


def shelves(own: Iterable[ClinicExercise]) -> list[Shelf]:
    """Return the library by target, the clinic's own entries after its ladders."""
    found = [_shelf(group) for group in groups().values()] + _own_shelves(own)
    return sorted(found, key=lambda shelf: (_place(shelf.target), shelf.key == "own"))


def _place(target: str) -> int:
    return TARGETS.index(target) if target in TARGETS else len(TARGETS)


def _shelf(group: Group) -> Shelf:
    entries = tuple(
        OnShelf(one.key, one.name, one.rung, one, drawing_of(one.key))
        for one in group.entries
    )
    return Shelf(
        group.key,
        group.name,
        group.target,
        group.order_note,
        group.kind.is_laddered,
        entries,
    )


def _own_shelves(own: Iterable[ClinicExercise]) -> list[Shelf]:
    by_target = groupby(sorted(own, key=lambda one: one.target), lambda one: one.target)
    found = []
    for target, rows in by_target:
        entries = tuple(OnShelf(own_key(one), one.name, None, one, "") for one in rows)
        name = f"The clinic's own: {target}"
        found.append(Shelf("own", name, target, "", False, entries))
    return found
