"""Flow: how many cases come as far as an outcome, how late, and who is lost."""

from __future__ import annotations

import pandas as pd

from ..frames.period import CLOSES_DAYS_AFTER, OPENS_DAYS_BEFORE, PeriodData
from ..trends_titles import TITLES
from .counted import CaseSets, counted, declined
from .flow_figure import Bar, bars
from .lateness import lateness_block
from .lost_cases import bounds_block, compared_block
from .sections import Block, Cell, Figure, LeftOut, Section, Table

# Recommendation of the project's statistics reference: below it no comparison.
FOLLOWED_AT_LEAST = 60
NOT_ADVISED = (
    f"Fewer than {FOLLOWED_AT_LEAST} % of the cases due have an outcome: a comparison "
    "of this period with another, or between clinicians, is not advised."
)
ADVICE_RULE = (
    f"A comparison is not advised where fewer than {FOLLOWED_AT_LEAST} % of the cases "
    "due have an outcome (recommendation of this project)."
)
ON_OUTCOME = (
    "The lost are never given their last score as an outcome: nobody knows how they "
    "are now. Every rate says how many of them stand behind it."
)


def build(data: PeriodData) -> Section:
    """Return the section; every knee of the period counts but where a note says."""
    sets = CaseSets()
    return Section(
        key="flow",
        title=TITLES["flow"],
        question="How many cases come as far as an outcome, and who is lost?",
        blocks=(
            _stages_block(data, sets),
            lateness_block(data, sets),
            compared_block(data, sets),
            bounds_block(data, sets),
        ),
        cautions=(ON_OUTCOME,),
        sets=sets.named,
    )


def _stages_block(data: PeriodData, sets: CaseSets) -> Block:
    cases = data.cases
    due = cases[cases["is_due"].eq(True)]
    measured = due[due["state"] == "measured"]
    stages = _stages(cases, due)
    return Block(
        title="From opening to outcome",
        says=_says(cases, due),
        table=Table(
            caption="Cases at each stage",
            head=("Stage", "Cases", "Of"),
            rows=tuple(_row(sets, name, rows, of) for name, rows, of in stages),
        ),
        n=len(measured),
        of=len(due),
        of_what="cases due",
        figure=_figure(stages) if len(cases) else None,
        left_out=_left_out(data, sets),
        notes=(_due_rule(data), ADVICE_RULE),
    )


Stage = tuple[str, pd.DataFrame, tuple[int, str]]


def _stages(cases: pd.DataFrame, due: pd.DataFrame) -> list[Stage]:
    """Return each stage with its cases and what they are a part of."""
    opened, are_due = (len(cases), "opened"), (len(due), "due")
    ended = cases[cases["discharged"].notna()]
    again = due[due["state"].isin(["measured", "not comparable"])]
    return [
        ("Opened", cases, (len(cases), "")),
        ("First score taken", cases[cases["baseline"].notna()], opened),
        ("Due for an outcome", due, opened),
        ("Measured again", again, are_due),
        ("Lost", due[due["state"] == "lost"], are_due),
        ("Due without a first score", due[due["baseline"].isna()], are_due),
        ("Discharged", ended, opened),
        (
            "Discharged and lost",
            ended[ended["state"] == "lost"],
            (len(ended), "discharged"),
        ),
    ]


def _row(
    sets: CaseSets, name: str, rows: pd.DataFrame, of: tuple[int, str]
) -> tuple[Cell, ...]:
    key = "flow_" + name.lower().replace(" ", "_")
    total, what = of
    share = f"{counted(len(rows), total)} {what}" if what and total else ""
    return Cell(name), sets.cell(key, rows.index), Cell(share)


def _figure(stages: list[Stage]) -> Figure:
    lines = [
        Bar(name, len(rows), "bar-other" if "ost" in name else "bar")
        for name, rows, _ in stages
    ]
    return Figure(
        key="flow-stages",
        title="Cases at each stage",
        direction="Hatched: lost to measurement.",
        data=bars(lines, title="Cases"),
    )


def _says(cases: pd.DataFrame, due: pd.DataFrame) -> str:
    if not len(cases):
        return "No case was opened in the period."
    if not len(due):
        return f"{_opened(len(cases))}; none is due for an outcome yet."
    measured = int((due["state"] == "measured").sum())
    lost = int((due["state"] == "lost").sum())
    says = (
        f"{counted(measured, len(due))} cases due have an outcome; {lost} "
        f"{'is' if lost == 1 else 'are'} lost."
    )
    if len(due) == 1:
        says = f"One case is due for an outcome: it is {due['state'].iloc[0]}."
    if 100 * measured < FOLLOWED_AT_LEAST * len(due):
        says = f"{says} {NOT_ADVISED}"
    return says


def _opened(count: int) -> str:
    return "One case was opened" if count == 1 else f"{count} cases were opened"


def _left_out(data: PeriodData, sets: CaseSets) -> tuple[LeftOut, ...]:
    """Return who stands at no stage of an outcome, and who is in no number at all."""
    cases = data.cases
    under_way = cases.index[cases["state"] == "under way"]
    early = cases.index[cases["baseline"].isna() & ~cases["is_due"].eq(True)]
    apart = cases.index[cases["state"] == "not comparable"]
    found = (
        sets.left_out(
            "under way: the outcome is not due yet", "flow_under_way", under_way
        ),
        sets.left_out("not due yet and without a first score", "flow_early", early),
        sets.left_out(
            "measured again, but not comparable with the first score (another edition "
            "or language, or no activity in common): no outcome",
            "flow_not_comparable",
            apart,
        ),
    )
    return (*(left for left in found if left.count), *declined(data.declined))


def _due_rule(data: PeriodData) -> str:
    """Say when a case is due and what its outcome is, in the policy's numbers."""
    planned = data.policy.planned_weeks
    first = planned - OPENS_DAYS_BEFORE // 7
    last = planned + CLOSES_DAYS_AFTER // 7
    return (
        f"A case is due when week {last} after opening has passed, or when it is "
        f"discharged. Its outcome is the score nearest to week {planned}, from week "
        f"{first} to week {last}; a case that ended sooner has its last score near the "
        "end of care. A case that is due and has neither is lost (project assumption)."
    )
