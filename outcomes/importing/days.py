"""Puts the facts of one person's one day together, and finds those that disagree."""

from collections.abc import Iterable

from ..science.measures import Belongs, catalogue
from .problems import Problems
from .reading import shown
from .scratch import Fact

# Facts of one side and measure by item; an item without an answer is not there.
Told = dict[str, Fact]
Groups = dict[tuple[str, str], Told]


def group(facts: Iterable[Fact], *, file: str, problems: Problems) -> Groups:
    """Group by side and measure; an identical repeat is harmless, others are not."""
    groups: Groups = {}
    for fact in facts:
        if fact.value is None:
            continue
        told = groups.setdefault((fact.side, fact.measure), {})
        first = told.setdefault(item_key(fact), fact)
        if first.value != fact.value:
            problems.add(
                file,
                fact.line,
                "value",
                f"line {first.line} says {shown(str(first.value))} for the same item "
                "and day: keep the right one of the two rows.",
            )
    return groups


def item_key(fact: Fact) -> str:
    """Return what tells items apart; an activity's words in either case."""
    return fact.item.casefold() if fact.measure == "psfs" else fact.item


def is_of_person(key: str) -> bool:
    """Whether a measure is asked once for both knees."""
    return catalogue()[key].belongs is Belongs.PERSON


def join_sides(groups: Groups, *, file: str, problems: Problems) -> None:
    """Keep one form where a person's measure was entered for both knees alike."""
    both = {key for side, key in groups if side == "left"} & {
        key for side, key in groups if side == "right"
    }
    for key in sorted(both - {"visit", "pain"}):
        if not is_of_person(key):
            continue
        sides = sorted(
            ("left", "right"), key=lambda side: first_line(groups[side, key])
        )
        kept, repeated = groups[sides[0], key], groups.pop((sides[1], key))
        if found := _difference(kept, repeated):
            fact, column = found
            problems.add(
                file,
                fact.line,
                column,
                f"{catalogue()[key].short_name} is asked once for the whole person, "
                f"and the answers for the {sides[0]} knee differ on this day: keep "
                "one of the two forms.",
            )


def first_line(told: Told) -> int:
    """Return the line on which a group begins."""
    return min(fact.line for fact in told.values())


def _difference(kept: Told, repeated: Told) -> tuple[Fact, str] | None:
    for item, fact in repeated.items():
        if item in kept and kept[item].value != fact.value:
            return fact, "value"
    if kept.keys() != repeated.keys():
        return min(repeated.values(), key=lambda fact: fact.line), "item"
    return None
