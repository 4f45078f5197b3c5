"""Tables of how cases went on after their first review."""

from __future__ import annotations

import pandas as pd

from clinic.models import Episode
from clinic.templatetags.clinic_format import DASH, plural, score, signed

from ..models import CaseReview
from ..science.measures import measure
from .after_review import (
    APART,
    JUDGED,
    LATER,
    NO_BEFORE,
    NO_ROOM,
    NOT_SINCE,
    NOT_YET,
    REACHED,
)
from .counted import CaseSets, counted, name_of
from .sections import Block, Cell, Table

DECISIONS = {str(key): str(words) for key, words in CaseReview.Decision.choices}
REASONS = {str(key): str(words) for key, words in Episode.Reason.choices}
STANDINGS = {"": "In care", **REASONS}
APART_FROM_IT = (NOT_SINCE, NO_ROOM, APART, NO_BEFORE)
FIRST_RULE = (
    "A case counts once, from its first review. The change runs from the last score "
    "of its primary measure up to that day to the scores after it."
)
BEST_RULE = (
    "The best of several later scores is partly luck, and leans upwards; the first is "
    "the fairer number."
)
REVIEWED = "reviewed cases"


def middle(values: pd.Series) -> str:
    """Return median, lowest and highest; a dash where there is nothing."""
    if values.empty:
        return DASH
    if len(values) == 1:
        return score(float(values.iloc[0]))
    low, high = score(float(values.min())), score(float(values.max()))
    return f"{score(float(values.median()))} ({low} to {high})"


def next_scores(after: pd.DataFrame, sets: CaseSets) -> Block:
    """Say how many cases reached an important gain after their review."""
    ways = {way: after.index[after["after"] == way] for way in after["after"].unique()}
    judged = after[after["after"].isin(JUDGED)]
    return Block(
        title="What happened next: the scores",
        says=_says_scores(after, judged),
        table=Table(
            caption="An important gain since the first review, by its decision",
            head=("Decision", "Cases", "Judged", *map(_capital, JUDGED)),
            rows=tuple(
                _score_row(key, words, after, sets)
                for key, words in _taken(after).items()
            ),
        ),
        n=len(judged),
        of=len(after),
        of_what=REVIEWED,
        left_out=tuple(
            sets.left_out(way, name_of(way), ways[way])
            for way in APART_FROM_IT
            if way in ways
        ),
        notes=(FIRST_RULE, *_open_intervals(after)),
    )


def _taken(after: pd.DataFrame) -> dict[str, str]:
    """Return the decisions that were taken at a first review, in their order."""
    taken = set(after["decision"])
    return {key: words for key, words in DECISIONS.items() if key in taken}


def _says_scores(after: pd.DataFrame, judged: pd.DataFrame) -> str:
    if after.empty:
        return "No case of the period was reviewed."
    if judged.empty:
        return "Of no reviewed case can a change since its review be judged yet."
    of = len(judged)
    if of == 1:
        return f"One case can be judged: {judged['after'].iloc[0]}."
    first = int((judged["after"] == REACHED).sum())
    more = int((judged["after"] == LATER).sum())
    return (
        f"{counted(first, of)} reached an important gain at the first score after the "
        f"review, {more} only at a later one, and {of - first - more} not so far."
    )


def _score_row(
    key: str, words: str, after: pd.DataFrame, sets: CaseSets
) -> tuple[Cell, ...]:
    these = after[after["decision"] == key]
    judged = these[these["after"].isin(JUDGED)]
    return (
        Cell(words),
        sets.cell(name_of("reviewed", key), these.index),
        sets.cell(name_of("judged", key), judged.index),
        *(
            sets.share(
                name_of(way, key), judged.index[judged["after"] == way], of=len(judged)
            )
            for way in (REACHED, LATER, NOT_YET)
        ),
    )


def _open_intervals(after: pd.DataFrame) -> tuple[str, ...]:
    """Say how long those have waited who were not measured since."""
    waiting = after[(after["after"] == NOT_SINCE) & after["discharged"].isna()]
    if waiting.empty:
        return ()
    weeks = middle(waiting["open_weeks"].round(1))
    return (
        f"In care and not measured since the review: {plural(len(waiting), 'case')}. "
        f"Weeks waited so far, median (range): {weeks}. They may reach a gain yet.",
    )


def size_of_change(after: pd.DataFrame, sets: CaseSets) -> Block:
    """Say by how much the primary measure moved since the review."""
    judged = after[after["first"].notna()]
    keys = sorted(judged["measure"].unique())
    return Block(
        title="What happened next: by how much",
        says=_says_change(judged),
        table=Table(
            caption="Change since the first review in points; positive is better",
            head=(
                "Primary measure",
                "Cases",
                "To the first later score, median (range)",
                "Weeks to it, median (range)",
                "To the best later score, median (range)",
            ),
            rows=tuple(_change_row(key, judged, sets) for key in keys),
        ),
        n=len(judged),
        of=len(after),
        of_what=REVIEWED,
        notes=(BEST_RULE,),
    )


def _says_change(judged: pd.DataFrame) -> str:
    if judged.empty:
        return "No reviewed case has a later score that can be compared yet."
    key = judged["measure"].value_counts(sort=True).index[0]
    these = judged[judged["measure"] == key]
    if len(these) == 1:
        moved = signed(float(these["first"].iloc[0]))
        return f"{measure(key).short_name}, one case: {moved} since its review."
    return (
        f"{measure(key).short_name}, {len(these)} cases: half of them moved by "
        f"{signed(float(these['first'].median()))} points or more up to the first "
        "score after the review."
    )


def _change_row(key: str, judged: pd.DataFrame, sets: CaseSets) -> tuple[Cell, ...]:
    these = judged[judged["measure"] == key]
    return (
        Cell(measure(key).short_name),
        sets.cell(name_of("changed", key), these.index),
        Cell(_signed_middle(these["first"])),
        Cell(middle(these["first_weeks"].round(1))),
        Cell(_signed_middle(these["best"])),
    )


def _signed_middle(values: pd.Series) -> str:
    median = signed(float(values.median()))
    if len(values) == 1:
        return median
    return f"{median} ({signed(float(values.min()))} to {signed(float(values.max()))})"


def care_since(after: pd.DataFrame, sets: CaseSets) -> Block:
    """Say which reviewed cases are in care, and why care of the others ended."""
    ended = after["reason"].where(after["discharged"].notna(), "")
    return Block(
        title="What happened next: care",
        says=_says_care(after, ended),
        table=Table(
            caption="Reviewed cases by first decision: in care, or why care ended",
            head=("First decision", *STANDINGS.values()),
            rows=tuple(
                (Cell(words), *_care_cells(key, ended[after["decision"] == key], sets))
                for key, words in _taken(after).items()
            ),
        ),
        n=len(after),
        of=len(after),
        of_what=REVIEWED,
    )


def _care_cells(key: str, ended: pd.Series, sets: CaseSets) -> list[Cell]:
    return [
        sets.cell(name_of("since", key, words), ended.index[ended == reason])
        for reason, words in STANDINGS.items()
    ]


def _says_care(after: pd.DataFrame, ended: pd.Series) -> str:
    if after.empty:
        return "No case of the period was reviewed."
    open_weeks = after.loc[ended == "", "open_weeks"].round(1)
    if open_weeks.empty:
        return "Every reviewed case is discharged."
    return (
        f"{counted(len(open_weeks), len(after))} reviewed cases are still in care. "
        f"Weeks since the first review so far, median (range): {middle(open_weeks)}."
    )


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
