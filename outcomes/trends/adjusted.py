"""Change against what the starting point lets expect, by a model frozen beforehand."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pandas as pd

from clinic.templatetags.clinic_format import DASH, MINUS, day, plural

from ..frames.period import PeriodData
from ..reference_subjects import model_of
from ..science.group.adjusted import PER_COEFFICIENT, Model, needed
from ..science.group.small_numbers import FLOOR
from ..science.measures import measure
from ..science.primary import primary_numbers
from ..trends_titles import TITLES
from .adjusted_model import model_cases
from .counted import CaseSets, name_of
from .expected_groups import (
    chance_words,
    clinician_block,
    clinicians,
    held_against,
    month_block,
    points,
)
from .pull import pull_block
from .reached import REASONS
from .sections import Block, Cell, Section, Table

KEY = "adjusted"
RULE = (
    "Expected: least squares of the follow-up score on the first score and the "
    "logarithm of the months of symptoms, fitted on the reference period and then "
    "frozen, so that the mark does not move with what is held against it. Both tell "
    "of the outcome (Collins 2010, BMC Musculoskelet Disord 11:11). What the clinic "
    "itself decides, such as the number of visits, is not adjusted for."
)
NEEDED = (
    f"Needed: {PER_COEFFICIENT} patients for each of three coefficients, the constant "
    "counted (10 to 20 are advised; the number within that is a project assumption). "
    "With fewer the model would follow chance."
)
SAME_PEOPLE = (
    "The cases chosen overlap with the reference period. On those the line was fitted, "
    "so together they sit on it."
)
REGRESSION = (
    "Who starts low on a day scores nearer to the average the next time, with or "
    "without care, because part of a low score is chance (regression to the mean). The "
    "expected change takes that into account for a group. It proves no effect of care, "
    "since nobody here went without."
)
COUPLING = (
    "A change holds the first score within itself, so the two go together by "
    "arithmetic alone (mathematical coupling). That is why no chart here sets change "
    "against the first score."
)
UNMEASURED = (
    "What is not in the model, such as pain elsewhere, load at work or mood, can set "
    "groups apart as well. A difference is a reason to look, not a judgement."
)


def build(data: PeriodData) -> Section:
    """Return the section: the model of each primary measure in use, and who it fits."""
    return _section(data, is_shared=False)


def build_shared(data: PeriodData) -> Section:
    """Return the section for a sheet that leaves the lead's hands."""
    return _section(data, is_shared=True)


def _section(data: PeriodData, *, is_shared: bool) -> Section:
    sets = CaseSets()
    keys = sorted(data.cases.loc[data.cases["is_first"].eq(True), "measure"].unique())
    declared = [key for key in keys if model_of(key) in data.references]
    blocks = [
        block
        for key in declared
        for block in _of_measure(data, key, sets, is_shared=is_shared)
    ]
    if len(declared) < len(keys) or not keys:
        blocks.append(_undeclared(data, [k for k in keys if k not in declared], sets))
    return Section(
        key=KEY,
        title=TITLES["adjusted"],
        question="Did knees gain more or less than their starting point lets expect?",
        blocks=(*blocks, *_pulls(data, keys)),
        cautions=(REGRESSION, COUPLING, UNMEASURED),
        sets=sets.named,
    )


def _name(key: str) -> str:
    return measure(key).short_name


def _of_measure(
    data: PeriodData, key: str, sets: CaseSets, *, is_shared: bool
) -> list[Block]:
    about, rows = measure(key), model_cases(data.cases, key)
    reference = data.references[model_of(key)]
    model = Model.from_plain(reference["numbers"])
    blocks = [_whole(data, key, rows, model, reference, sets)]
    if len(rows) >= FLOOR:
        by_whom = clinicians(data, rows, is_shared=is_shared)
        blocks.append(clinician_block(about, rows, by_whom, model, sets))
        blocks.append(month_block(data, about, rows, model, sets))
    return blocks


def _pulls(data: PeriodData, keys: list[str]) -> list[Block]:
    """Return what error and arithmetic do, for measures with enough cases."""
    return [
        pull_block(rows, measure(key), primary_numbers(key, data.policy).sem)
        for key in keys
        if len(rows := model_cases(data.cases, key)) >= FLOOR
    ]


def _undeclared(data: PeriodData, keys: list[str], sets: CaseSets) -> Block:
    """Return which measures have no expectation, and what one would need."""
    rows = {key: model_cases(data.cases, key).index for key in keys}
    cases = int(data.cases["measure"].isin(keys).sum())
    table = tuple(
        (
            Cell(_name(key)),
            sets.cell(name_of("measured", key), found),
            Cell(str(needed())),
        )
        for key, found in rows.items()
    )
    return Block(
        title="Without a reference period",
        says=_undeclared_says(keys),
        table=Table(
            "What a model would rest on",
            ("Measure", "Patients with an outcome", "Needed"),
            table,
        ),
        n=sum(map(len, rows.values())),
        of=cases,
        of_what="cases of these measures",
        notes=(NEEDED,) if keys else (),
    )


def _undeclared_says(keys: list[str]) -> str:
    if not keys:
        return "No case was opened in this period, so there is nothing to compare."
    return (
        f"No reference period is declared for {', '.join(map(_name, keys))}, so no "
        "change is adjusted there. A lead declares one under Reference periods; it "
        f"needs {plural(needed(), 'patient')} with an outcome."
    )


def _whole(
    data: PeriodData,
    key: str,
    rows: pd.DataFrame,
    model: Model,
    reference: Mapping[str, Any],
    sets: CaseSets,
) -> Block:
    """Return the frozen model, and all cases chosen held against it together."""
    return Block(
        title=f"{_name(key)}: observed and expected change",
        says=_says(_name(key), rows, model),
        table=_model_table(_name(key), model),
        notes=(RULE, *_about(data, rows, reference)),
        **_counted(data, key, rows, sets),
    )


def _counted(
    data: PeriodData, key: str, rows: pd.DataFrame, sets: CaseSets
) -> dict[str, Any]:
    """Return what a block counts, of how many, and what it leaves out."""
    cases = data.cases[data.cases["measure"].eq(key)]
    firsts = cases[cases["is_first"].eq(True)]
    left = firsts.drop(rows.index)
    groups = {
        REASONS["further"]: cases.drop(firsts.index),
        REASONS["under_way"]: left[left["state"].eq("under way")],
        "lost, without a first score or not comparable": left[
            left["state"].ne("under way")
        ],
    }
    found = [
        sets.left_out(words, name_of("left out", key, words), group.index)
        for words, group in groups.items()
    ]
    return {
        "n": len(rows),
        "of": len(cases),
        "of_what": f"cases whose primary measure is the {_name(key)}",
        "left_out": tuple(one for one in found if one.count),
    }


def _says(name: str, rows: pd.DataFrame, model: Model) -> str:
    if rows.empty:
        return f"No case chosen has an outcome by the {name} yet."
    if len(rows) < FLOOR:
        return (
            f"{plural(len(rows), 'case')} with an outcome: from {FLOOR} on, their mean "
            "is held against the expected one."
        )
    found = held_against(model, rows)
    return (
        f"{plural(len(rows), 'case')} changed by {points(found.observed)} points on "
        f"average, where {points(found.expected)} was expected. The difference is "
        f"{chance_words(found)}."
    )


def _model_table(name: str, model: Model) -> Table:
    labels = (
        "Constant",
        f"For each point of the first {name}",
        "For each doubling of the months of symptoms",
    )
    terms = [
        (label, _two(term.estimate), _two(term.se))
        for label, term in zip(labels, model.terms, strict=True)
    ]
    rows = [
        *terms,
        (
            "Spread of single patients around it (standard deviation)",
            _two(model.residual_sd),
            DASH,
        ),
        ("Part of the spread explained (R²)", _two(model.r2), DASH),
        ("Patients it was fitted on", str(model.n), DASH),
    ]
    return Table(
        f"The frozen model: {name} expected at follow-up",
        ("Term", "Points", "Standard error"),
        tuple(tuple(map(Cell, row)) for row in rows),
    )


def _about(
    data: PeriodData, rows: pd.DataFrame, reference: Mapping[str, Any]
) -> tuple[str, ...]:
    """Return the reference period in words, and where it does not carry."""
    first, last = reference["from_on"], reference["until_on"]
    notes = [f"Reference period: cases opened {day(first)} to {day(last)}."]
    if data.choice.from_on <= last and data.choice.until_on >= first:
        notes.append(SAME_PEOPLE)
    low, high = reference["numbers"].get("baselines", (float("-inf"), float("inf")))
    if outside := int((~rows["baseline"].between(low, high)).sum()):
        notes.append(
            f"{plural(outside, 'case')} began outside the first scores that the model "
            "has seen; there it only extends its line."
        )
    return tuple(notes)


def _two(value: float) -> str:
    return f"{value:.2f}".replace("-", MINUS)
