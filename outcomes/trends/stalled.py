"""Stalled cases: what asks for a review, what was decided, what happened next."""

from __future__ import annotations

import pandas as pd

from clinic.templatetags.clinic_format import DASH, plural

from ..frames.period import PeriodData
from ..science.rules import Rule
from ..trends_titles import TITLES
from .after_review import first_reviews
from .after_review_tables import (
    DECISIONS,
    care_since,
    middle,
    next_scores,
    size_of_change,
)
from .counted import CaseSets, counted, declined, name_of
from .sections import Block, Cell, Section, Table

CAUTIONS = (
    "A finding is a prompt to look, not a diagnosis and no judgement of anybody's "
    "care. What came after a decision was not necessarily brought about by it.",
    "Cases are reviewed when a score is low, and a low score tends to be followed by a "
    "better one in any case (regression to the mean): some rise after a review is to "
    "be expected whatever was decided.",
)
STILL_RUNNING = (
    "Days are counted up to today and the findings still stand: how long they will "
    "last is not known yet."
)
SEVERAL = (
    "A case with several findings counts in each row, and once in the last, with the "
    "one that has stood longest. A case that rests was reviewed and waits for its day "
    "to be looked at again."
)
MEDIAN_RULE = (
    "Median: half of the cases lie on either side; of an even number it is the mean of "
    "the two in the middle."
)
WHICH_REVIEWS = "All reviews of the cases of the period, up to today."
NO_COLUMNS = ["episode", "rule", "since", "is_resting", "days"]


def build(data: PeriodData) -> Section:
    """Return the section; every case of the period counts, both knees of a person."""
    sets, after = CaseSets(), first_reviews(data)
    return Section(
        key="stalled",
        title=TITLES["stalled"],
        question="How many cases ask for a review, and what came of those reviewed?",
        blocks=(
            _flagged(data, sets),
            _decided(data, sets),
            _seen(data, sets),
            next_scores(after, sets),
            size_of_change(after, sets),
            care_since(after, sets),
        ),
        cautions=CAUTIONS,
        sets=sets.named,
    )


def _short(rule: Rule) -> str:
    """Return what was found, without what the finding asks of the clinician."""
    return rule.title.split(", re")[0]


def _flagged(data: PeriodData, sets: CaseSets) -> Block:
    in_care = data.cases.index[data.cases["discharged"].isna()]
    flags = data.flags if len(data.flags) else pd.DataFrame(columns=NO_COLUMNS)
    flags = flags[flags["episode"].isin(in_care)]
    asking = flags.loc[~flags["is_resting"].astype(bool), "episode"].nunique()
    flagged, ended = flags["episode"].nunique(), data.cases.index.difference(in_care)
    why = "discharged; what stands here is of cases in care"
    return Block(
        title="Asking for a review today",
        says=_says_flagged(asking, flagged, len(in_care)),
        table=_flag_table(flags, sets),
        n=flagged,
        of=len(in_care),
        of_what="cases of the period that are in care",
        left_out=(
            sets.left_out(why, "discharged", ended),
            *declined(data.declined),
        ),
        notes=(STILL_RUNNING, SEVERAL, MEDIAN_RULE),
    )


def _flag_table(flags: pd.DataFrame, sets: CaseSets) -> Table:
    rows = [
        _flag_row(rule.key, _short(rule), flags[flags["rule"] == rule.key], sets)
        for rule in Rule
    ]
    return Table(
        caption="Findings that stand today in cases of the period",
        head=("Finding", "Cases", "Of these resting", "Days so far, median (range)"),
        rows=(*rows, _flag_row("any", "Any finding", flags, sets)),
    )


def _says_flagged(asking: int, flagged: int, in_care: int) -> str:
    if not in_care:
        return "No case of the period is in care."
    ask = "asks" if asking == 1 else "ask"
    said = f"{counted(asking, in_care)} cases in care {ask} for a review today"
    resting = flagged - asking
    if not resting:
        return f"{said}."
    rest = "rests" if resting == 1 else "rest"
    return f"{said}; {resting} more {rest} after a decision."


def _flag_row(
    key: str, title: str, flags: pd.DataFrame, sets: CaseSets
) -> tuple[Cell, ...]:
    """Return cases, resting ones, and the longest time of each case in days."""
    is_resting = flags["is_resting"].astype(bool)
    asking = flags.loc[~is_resting, "episode"]
    resting = flags.loc[is_resting & ~flags["episode"].isin(asking), "episode"]
    days = flags.groupby("episode")["days"].max()
    return (
        Cell(title),
        sets.cell(name_of("flag", key), flags["episode"]),
        sets.cell(name_of("rest", key), resting),
        Cell(middle(days.astype("float64").dropna())),
    )


def _decided(data: PeriodData, sets: CaseSets) -> Block:
    reviews, cases = data.reviews, data.reviews["episode"].nunique()
    rows = [
        _decision_row(key, words, reviews[reviews["decision"] == key], sets)
        for key, words in DECISIONS.items()
    ]
    return Block(
        title="What was decided",
        says=_says_decided(len(reviews), cases, len(data.cases)),
        table=Table(
            caption="Reviews by decision",
            head=(
                "Decision",
                "Reviews",
                "Cases",
                "Weeks after opening, median (range)",
            ),
            rows=(*rows, _decision_row("all", "All reviews", reviews, sets)),
        ),
        n=cases,
        of=len(data.cases),
        of_what="cases of the period",
        notes=(WHICH_REVIEWS,),
    )


def _says_decided(reviews: int, cases: int, of: int) -> str:
    if not of:
        return "No case was opened in the period."
    if not reviews:
        return "No case of the period was reviewed."
    was = "was" if reviews == 1 else "were"
    return (
        f"{plural(reviews, 'review')} {was} made, in {counted(cases, of)} cases of the "
        "period."
    )


def _decision_row(
    key: str, words: str, reviews: pd.DataFrame, sets: CaseSets
) -> tuple[Cell, ...]:
    weeks = reviews["weeks"].astype("float64").round(1)
    return (
        Cell(words),
        Cell(str(len(reviews))),
        sets.cell(name_of("decided", key), reviews["episode"]),
        Cell(middle(weeks) if len(weeks) else DASH),
    )


def _seen(data: PeriodData, sets: CaseSets) -> Block:
    seen = data.reviews.explode("findings")
    told = set(seen["findings"].dropna())
    rows = [
        (Cell(_short(rule)), *_seen_cells(rule.key, seen, sets))
        for rule in Rule
        if rule.key in told
    ]
    with_findings = seen.loc[seen["findings"].notna(), "episode"].nunique()
    return Block(
        title="What the reviews were about",
        says=_says_seen(seen),
        table=Table(
            caption="Reviews by finding and decision",
            head=("Finding", "Cases", *DECISIONS.values()),
            rows=tuple(rows),
        ),
        n=with_findings,
        of=data.reviews["episode"].nunique(),
        of_what="reviewed cases",
        notes=("A review of several findings counts in each of their rows.",),
    )


def _seen_cells(key: str, seen: pd.DataFrame, sets: CaseSets) -> list[Cell]:
    about = seen[seen["findings"] == key]
    return [
        sets.cell(name_of("seen", key), about["episode"]),
        *(Cell(str(int((about["decision"] == one).sum()))) for one in DECISIONS),
    ]


def _says_seen(seen: pd.DataFrame) -> str:
    told = seen["findings"].dropna()
    if told.empty:
        return "No review of the period names a finding."
    counts = told.value_counts()
    titles = {rule.key: _short(rule) for rule in Rule}
    first = str(counts.index[0])
    return (
        f"Most often found: {titles.get(first, first).lower()} "
        f"({plural(int(counts.iloc[0]), 'review')})."
    )
