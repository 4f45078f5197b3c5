"""Response: how many get meaningfully better, and by how much."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pandas as pd

from clinic.templatetags.clinic_format import plural

from ..frames.period import PeriodData
from ..science.group.proportions import Share, wilson
from ..science.measures import measure
from ..trends_titles import TITLES
from .change import change_block
from .counted import CaseSets, counted, declined, name_of
from .intervals import is_enough, share_ends
from .reached import REASONS, early_words
from .response_figure import Whisker, whiskers
from .room import room_block
from .sections import Block, Cell, Figure, LeftOut, Section, Table

ALL = "All measures"
CRITERIA = {
    "is_important": "important gain",
    "is_beyond": "important and beyond error",
}
ONE_KNEE = (
    "One knee per person: the first opened in the period. Two knees of one person are "
    "not two answers."
)
STRICTER = (
    "Important: the gain is at least the smallest important change (MCID). Important "
    "and beyond error: it reaches the detectable change (MDC) as well, so it is more "
    "than the questionnaire's own error in one person."
)
INTERVAL = (
    "Intervals are Wilson's, 95 %. Below 10 cases there are counts alone, without per "
    "cent and interval."
)
LOST = (
    "The last column counts the lost and the not comparable as not reached: the rate "
    "is at least that. How much they leave open stands under "
    f"“{TITLES['flow']}”."
)
NO_CONTROL = (
    "Nobody here went without care, so these numbers do not say what care brought "
    "about: knees also get better with time, and after a bad start (regression to "
    "the mean)."
)


def build(data: PeriodData) -> Section:
    """Return the section; one knee per person counts throughout."""
    sets = CaseSets()
    firsts = data.cases[data.cases["is_first"]]
    return Section(
        key="response",
        title=TITLES["response"],
        question="How many get meaningfully better, and by how much?",
        blocks=(
            _reached_block(data, firsts, sets),
            change_block(firsts, sets),
            room_block(data, firsts, sets),
        ),
        cautions=(NO_CONTROL,),
        sets=sets.named,
    )


@dataclass(frozen=True, slots=True)
class _Rate:
    """How many of some knees met one criterion, of the measured and of all due."""

    name: str
    key: str
    reached: pd.Index
    measured: pd.Index
    due: pd.Index

    @property
    def share(self) -> Share | None:
        """Return the share of the measured with Wilson's interval."""
        return wilson(len(self.reached), len(self.measured))

    def row(self, sets: CaseSets) -> tuple[Cell, ...]:
        """Return the row of the table, each count with its cases."""
        of, due = len(self.measured), len(self.due)
        key = name_of("reached", self.key)
        return (
            Cell(self.name),
            sets.share(key, self.reached, of=of),
            Cell(share_ends(self.share)),
            sets.share(key, self.reached, of=due),
        )


def _reached_block(data: PeriodData, firsts: pd.DataFrame, sets: CaseSets) -> Block:
    due = firsts[firsts["is_due"].eq(True) & (firsts["has_room"] == 1)]
    rates = list(_rates(due))
    measured = due.index[due["state"] == "measured"]
    return Block(
        title="Reached an important gain",
        says=_says(rates),
        table=Table(
            caption="Knees whose gain was large enough, by measure",
            head=("Gain", "Of the measured", "95 % interval", "Of all due"),
            rows=tuple(rate.row(sets) for rate in rates),
        ),
        n=len(measured),
        of=len(due),
        of_what="people due, one knee each, with room to gain",
        figure=_figure(rates),
        left_out=_left_out(data, firsts, due, sets),
        notes=(
            *(ONE_KNEE, STRICTER, INTERVAL, LOST),
            *early_words(data, due[due["state"] == "measured"]),
        ),
    )


def _rates(due: pd.DataFrame) -> Iterator[_Rate]:
    """Yield all measures together, then each, by both criteria; none without a case."""
    if due.empty:
        return
    keys = sorted(due["measure"].unique())
    groups = {ALL: due} if len(keys) > 1 else {}
    groups |= {measure(key).short_name: due[due["measure"] == key] for key in keys}
    for group, rows in groups.items():
        measured = rows[rows["state"] == "measured"]
        hits = {"is_important": measured["is_important"] == 1}
        hits["is_beyond"] = hits["is_important"] & (measured["is_detectable"] == 1)
        for column, words in CRITERIA.items():
            yield _Rate(
                name=f"{group}: {words}",
                key=f"{group} {column}",
                reached=measured.index[hits[column]],
                measured=measured.index,
                due=rows.index,
            )


def _says(rates: list[_Rate]) -> str:
    if not rates:
        return "No knee with room to gain is due yet."
    first, stricter = rates[:2]
    of = len(first.measured)
    if not of:
        return f"{plural(len(first.due), 'knee')} due, none with an outcome."
    says = (
        f"{counted(len(first.reached), of)} measured knees reached an important "
        f"gain, {counted(len(stricter.reached), of)} beyond measurement error too."
    )
    if not is_enough(of):
        return f"{says} So few say little about the clinic."
    ends = share_ends(first.share)
    return f"{says} Allowing for chance, {ends} reach it (95 % interval)."


def _figure(rates: list[_Rate]) -> Figure | None:
    """Draw the shares that may be given in per cent; none, no figure."""
    lines = [
        Whisker(rate.name, rate.share)
        for rate in rates
        if rate.share and is_enough(rate.share.of)
    ]
    if not lines:
        return None
    return Figure(
        key="response-reached",
        title="Share of the measured whose gain was large enough, 95 % interval",
        direction="Further right: more got better.",
        data=whiskers(lines, title="Per cent of the measured"),
    )


def _left_out(
    data: PeriodData, firsts: pd.DataFrame, due: pd.DataFrame, sets: CaseSets
) -> tuple[LeftOut, ...]:
    """Return who is in no denominator, and who is in one without an outcome."""
    cases = data.cases
    without = firsts["state"] == "without a baseline"
    is_due = firsts["is_due"].eq(True)
    groups = (
        (REASONS["further"], cases.index[~cases["is_first"]]),
        ("under way: the outcome is not due yet", firsts.index[~is_due]),
        ("due, without a first score", firsts.index[is_due & without]),
        (
            "due, without room to gain: see below",
            firsts.index[is_due & (firsts["has_room"] == 0)],
        ),
        (
            "lost: due, and not measured then; in the last column alone",
            due.index[due["state"] == "lost"],
        ),
        (
            "not comparable with the first score: in the last column alone",
            due.index[due["state"] == "not comparable"],
        ),
    )
    found = [sets.left_out(words, name_of("out", words), who) for words, who in groups]
    return (*(left for left in found if left.count), *declined(data.declined))
