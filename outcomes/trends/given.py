"""What was done: components of care by how irritable the knee was at the start.

Described and not compared: what was given follows from how the knee was, so these
numbers say nothing of what works.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from programs.components import BESIDE, EXERCISE
from programs.models import OtherCare

from ..frames.period import PeriodData
from ..science.group.small_numbers import FLOOR
from ..trends_titles import TITLES
from .counted import CaseSets, counted, declined, name_of
from .sections import Block, Cell, Section, Table

LEVELS = ("high", "moderate", "low")
NOT_RECORDED = "not recorded"
OTHER = tuple(str(label).lower() for label in OtherCare.What.labels)
CAUTIONS = (
    "This describes what was given; it does not compare what works. An irritable knee "
    "gets other care because it is irritable, so no difference between rows or "
    "columns, nor in how their cases went on, can be put down to the care.",
    "A case counts once for each component that began, however often and however "
    "much of it was done. Both knees of a person count.",
)
EXERCISE_NOTES = (
    "Irritability is the level that the clinician judged when the case was opened.",
    "Families of exercise go by what the exercise is for, the clinic's own entries "
    "too. Work under a cuff counts as that and for its muscle group (project "
    "assumption).",
    f"A per cent is shown from {FLOOR} cases in a column; below that, counts alone.",
)
NONE_RULE = (
    "None means none on record: what is brought in from older records often holds no "
    "treatment."
)
EVENT_NOTES = (
    "Care outside the programme, and what else moves pain and function, as far as "
    "somebody recorded it.",
)


def build(data: PeriodData) -> Section:
    """Return the section; every case of the period counts, measured again or not."""
    tables = (
        _Given(data, "Exercise", "any exercise on record", EXERCISE, EXERCISE_NOTES),
        _Given(
            data,
            "Beside exercise",
            "education, taping or orthoses on record",
            BESIDE,
            (NONE_RULE,),
        ),
        _Given(
            data, "Other care and events", "any of these on record", OTHER, EVENT_NOTES
        ),
    )
    sets = CaseSets()
    return Section(
        key="given",
        title=TITLES["given"],
        question="What care was given, by how irritable the knee was at the start?",
        blocks=tuple(given.block(sets) for given in tables),
        cautions=CAUTIONS,
        sets=sets.named,
    )


@dataclass(frozen=True, slots=True)
class _Given:
    """One table: its components as rows, levels of irritability as columns."""

    data: PeriodData
    title: str
    what: str
    components: Sequence[str]
    notes: tuple[str, ...] = ()

    def block(self, sets: CaseSets) -> Block:
        levels, given = self._levels(), self._rows()
        having = given["episode"].unique()
        return Block(
            title=self.title,
            says=self._says(len(having), len(levels)),
            table=self._table(levels, given, sets),
            n=len(having),
            of=len(levels),
            of_what="cases of the period",
            left_out=declined(self.data.declined) if self.is_first else (),
            notes=self.notes,
        )

    @property
    def is_first(self) -> bool:
        return self.components is EXERCISE

    def _levels(self) -> pd.Series:
        level = self.data.cases["irritability"]
        return level.where(level.isin(LEVELS), NOT_RECORDED)

    def _rows(self) -> pd.DataFrame:
        """Return the rows of these components; each case once for each."""
        given = self.data.given
        if given.empty:
            return pd.DataFrame({"episode": [], "component": []})
        is_of_table = given["component"].isin(self.components)
        is_in_period = given["episode"].isin(self.data.cases.index)
        kept = given[is_of_table & is_in_period]
        return kept.drop_duplicates(["episode", "component"])

    def _says(self, having: int, of: int) -> str:
        if not of:
            return "No case was opened in the period."
        had = "has" if having == 1 else "have"
        return f"{counted(having, of)} cases {had} {self.what}."

    def _table(self, levels: pd.Series, given: pd.DataFrame, sets: CaseSets) -> Table:
        columns = [*LEVELS, *((NOT_RECORDED,) if NOT_RECORDED in set(levels) else ())]
        groups = {level: levels.index[levels == level] for level in columns}
        groups["all cases"] = levels.index
        by_component = {
            name: given.loc[given["component"] == name, "episode"]
            for name in self.components
        }
        rows = [
            _row(sets, name, groups, having) for name, having in by_component.items()
        ]
        without = levels.index.difference(given["episode"])
        rows.append(_row(sets, f"none: {self.title}", groups, without))
        return Table(
            caption=f"{self.title}: cases that had it at least once, by irritability",
            head=("Component", *(name.capitalize() for name in groups)),
            rows=tuple(rows),
        )


def _row(
    sets: CaseSets, component: str, groups: dict[str, pd.Index], having: Sequence[int]
) -> tuple[Cell, ...]:
    """Return how many of each group of cases are among those having a component."""
    heading = "None of these" if component.startswith("none:") else component
    cells = [
        sets.share(name_of(component, name), group[group.isin(having)], of=len(group))
        for name, group in groups.items()
    ]
    return (Cell(heading[:1].upper() + heading[1:]), *cells)
