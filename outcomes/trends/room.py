"""Knees that began too near the best score to reach an important gain."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from clinic.templatetags.clinic_format import score

from ..frames.period import PeriodData
from ..science.measures import measure
from ..science.primary import primary_numbers
from .counted import CaseSets, name_of
from .sections import Block, Cell, Table

RULE = (
    "Without room: from the first score to the best possible one is less than the "
    "important gain. Such a knee cannot reach it, so it is in no rate above; another "
    "measure, or the aims of the patient, would have to show whether it got better."
)


def room_block(data: PeriodData, firsts: pd.DataFrame, sets: CaseSets) -> Block:
    """Return how many knees had no room, by measure, and how many stayed measured."""
    known = firsts[firsts["baseline"].notna()]
    apart = known[known["has_room"] == 0]
    return Block(
        title="Without room to gain",
        says=_says(len(apart), len(known)),
        table=Table(
            caption="People whose first score leaves no room for an important gain",
            head=(
                "Measure",
                "Important gain",
                "Best score",
                "Without room",
                "Measured again",
            ),
            rows=tuple(_rows(data, known, sets)),
        ),
        n=len(apart),
        of=len(known),
        of_what="people with a first score, one knee each",
        notes=(RULE,),
    )


def _rows(
    data: PeriodData, known: pd.DataFrame, sets: CaseSets
) -> Iterator[tuple[Cell, ...]]:
    for key in sorted(known["measure"].unique()):
        about, numbers = measure(key), primary_numbers(key, data.policy)
        these = known[known["measure"] == key]
        apart = these[these["has_room"] == 0]
        again = apart.index[apart["state"] == "measured"]
        yield (
            Cell(about.short_name),
            Cell(f"{score(numbers.mcid)} points"),
            Cell(score(numbers.best_possible)),
            sets.share(name_of("no room", key), apart.index, of=len(these)),
            sets.share(name_of("no room measured", key), again, of=len(apart)),
        )


def _says(apart: int, known: int) -> str:
    if not known:
        return "No knee has a first score yet."
    if not apart:
        return "Every knee with a first score had room for an important gain."
    return (
        f"{apart} of {known} knees began too near the best score for an important gain."
    )
