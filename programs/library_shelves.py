"""The library as it stands on the pages: shelf by shelf, rung by rung."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from itertools import groupby

from django.conf import settings
from django.utils.safestring import mark_safe

from .library import groups, library
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
def drawing_of(key: str) -> str:
    """Return an entry's drawing, to stand in the page; nothing where there is none.

    In the page, not as a picture, so that it takes the ink of the theme. The files
    are this project's own; the key is one of the library's.
    """
    path = settings.BASE_DIR / "static" / "drawings" / f"{key}.svg"
    if key not in library() or not path.exists():
        return ""
    return mark_safe(path.read_text(encoding="utf-8"))  # noqa: S308 (our own file)


def shelves(own: Iterable[ClinicExercise]) -> list[Shelf]:
    """Return the library by target, the clinic's own entries after its ladders."""
    found = [_shelf(group) for group in groups().values()] + _own_shelves(own)
    return sorted(found, key=lambda shelf: (_place(shelf.target), shelf.key == "own"))


def _place(target: str) -> int:
    return TARGETS.index(target) if target in TARGETS else len(TARGETS)


def _shelf(group: Group) -> Shelf:
    entries = tuple(OnShelf(one.key, one.name, one.rung, one) for one in group.entries)
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
        entries = tuple(OnShelf(own_key(one), one.name, None, one) for one in rows)
        name = f"The clinic's own: {target}"
        found.append(Shelf("own", name, target, "", False, entries))
    return found
