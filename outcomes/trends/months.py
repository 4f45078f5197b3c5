"""Over the months: what reaches an important gain, what opens, what is measured again.

Limits come from a reference period that was declared and frozen, never from the months
they judge.
"""

from __future__ import annotations

from dataclasses import replace

from clinic.templatetags.clinic_format import day

from ..frames.period import PeriodData
from ..trends_titles import TITLES
from . import reached
from .counted import CaseSets, declined
from .months_reference import (
    MEASURED,
    SHARE,
    measured_points,
    share_points,
)
from .opened_months import opened_block
from .sections import Block, Section
from .share_months import Words, share_block

CAUTIONS = (
    "A point outside or a shift says that something changed beyond chance, not what: "
    "the people referred, the measuring or the care. Looking at three charts for "
    "long, one finds a signal by luck now and then.",
)
REACHED = Words(
    subject=SHARE,
    title="Share that reached an important gain",
    done="reached an important gain",
    direction="Higher is better.",
    notes=(reached.RULE,),
)
AGAIN = Words(
    subject=MEASURED,
    title="Share measured again when due",
    done="were measured again",
    direction="Higher is better.",
    notes=(
        "Counted are people with a first score whose outcome is due, once each, with "
        "the first knee opened in the period.",
    ),
)


def build(data: PeriodData) -> Section:
    """Return the section: three charts with the changes noted in the clinic."""
    sets = CaseSets()
    blocks = (_reached(data, sets), opened_block(data, sets), _measured(data, sets))
    return Section(
        key="months",
        title=TITLES["months"],
        question="Do the months change by more than chance?",
        blocks=(_with_changes(data, blocks[0]), *blocks[1:]),
        cautions=CAUTIONS,
        sets=sets.named,
    )


def _reached(data: PeriodData, sets: CaseSets) -> Block:
    split = reached.counting(data.cases)
    left = (*reached.left_out(split, sets), *declined(data.declined))
    return share_block(data, REACHED, share_points(data), sets, left)


def _measured(data: PeriodData, sets: CaseSets) -> Block:
    is_first = data.cases["is_first"].eq(True)
    firsts = data.cases[is_first]
    out = {
        "further": data.cases.index[~is_first],
        "no_baseline": firsts.index[firsts["state"] == "without a baseline"],
        "under_way": firsts.index[firsts["state"] == "under way"],
    }
    left = tuple(
        sets.left_out(reached.REASONS[name], f"again_{name}", episodes)
        for name, episodes in out.items()
        if len(episodes)
    )
    left = (*left, *declined(data.declined))
    return share_block(data, AGAIN, measured_points(data), sets, left)


def _with_changes(data: PeriodData, block: Block) -> Block:
    """Add the changes noted in the clinic, which the figures show as flags."""
    inside = [change for change in data.changes if change[0] >= data.choice.from_on]
    if not inside:
        return block
    noted = "; ".join(f"{day(on)}: {words}" for on, words in inside)
    flags = (
        f"Changes noted in the clinic, flagged where a figure reaches them: {noted}."
    )
    return replace(block, notes=(*block.notes, flags))
