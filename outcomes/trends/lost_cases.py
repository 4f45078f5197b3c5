"""The lost: how they differed at the start, and what they leave open of the rate."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from clinic.templatetags.clinic_format import DASH, score

from ..frames.period import PeriodData
from ..science.group.lost import (
    NOTABLE,
    Bounds,
    Summary,
    bounds,
    rate_if_lost_did,
    simple_difference,
)
from ..science.group.proportions import Share
from ..science.measures import measure
from .counted import CaseSets, counted, name_of
from .intervals import is_enough, share_ends
from .sections import Block, Cell, LeftOut, Table

DIFFERENCE_RULE = (
    "Standardised difference: the mean of the measured minus that of the lost, in "
    "units of the root of the mean of both variances. Both knees of a person count."
)
SMALL_GROUPS = (
    f"Marked above {NOTABLE} either way (common practice). In groups as small as a "
    "clinic's it is nearly always larger by chance alone: read the means and numbers."
)
ONE_KNEE = (
    "One knee per person: the first opened in the period. Knees without room for an "
    "important gain are not in the rate."
)
BOUNDS_RULE = (
    "Between the first row and the last lies what nobody knows. The interval in each "
    "row holds chance alone, as if that row were true (Wilson)."
)


def compared_block(data: PeriodData, sets: CaseSets) -> Block:
    """Return baselines of the measured beside those of the lost."""
    cases = data.cases
    measured, lost = (cases[cases["state"] == name] for name in ("measured", "lost"))
    rows = list(_compared(measured, lost, sets))
    return Block(
        title="The measured and the lost at the start",
        says=_compared_says(measured, lost),
        table=Table(
            caption="Mean (standard deviation), number of cases",
            head=("At the start", "Measured", "Lost", "Standardised difference"),
            rows=tuple(rows) if len(measured) or len(lost) else (),
        ),
        n=len(measured) + len(lost),
        of=int(cases["is_due"].eq(True).sum()),
        of_what="cases due, measured or lost",
        left_out=_neither(cases, sets),
        notes=(DIFFERENCE_RULE, SMALL_GROUPS),
    )


def _compared(
    measured: pd.DataFrame, lost: pd.DataFrame, sets: CaseSets
) -> Iterator[tuple[Cell, ...]]:
    both = pd.concat([measured, lost])
    for key in sorted(both["measure"].unique()):
        these = [rows[rows["measure"] == key] for rows in (measured, lost)]
        name = f"{measure(key).short_name} score"
        yield _compared_row(name, "baseline", these[0], these[1], sets)
    yield _compared_row("Symptoms, months", "months", measured, lost, sets)
    yield _compared_row("Age, years", "age", measured, lost, sets)


def _compared_row(
    name: str, column: str, measured: pd.DataFrame, lost: pd.DataFrame, sets: CaseSets
) -> tuple[Cell, ...]:
    known = [rows[rows[column].notna()] for rows in (measured, lost)]
    one, other = (Summary.of(rows[column].tolist()) for rows in known)
    found = simple_difference(one, other)
    keys = [
        sets.keep(name_of("start", name, group), rows.index)
        for group, rows in zip(("measured", "lost"), known, strict=True)
    ]
    return (
        Cell(name),
        Cell(_summary(one), keys[0]),
        Cell(_summary(other), keys[1]),
        Cell(_difference(found)),
    )


def _summary(found: Summary | None) -> str:
    if found is None:
        return DASH
    spread = "" if found.sd is None else f" ({score(found.sd)})"
    return f"{score(found.mean)}{spread}, n {found.n}"


def _difference(found: float | None) -> str:
    if found is None:
        return DASH
    words = f"{found:+.2f}".replace("-", "−")
    return f"{words}, above {NOTABLE}" if abs(found) > NOTABLE else words


def _compared_says(measured: pd.DataFrame, lost: pd.DataFrame) -> str:
    if not len(lost):
        return "Nobody is lost, so there is nothing to compare."
    if not len(measured):
        return "Nobody has an outcome, so the lost have nobody to stand beside."
    if min(len(measured), len(lost)) < 2:
        return "With a single case on one side there is no difference to work out."
    return (
        f"{len(measured)} measured stand beside {len(lost)} lost. Where they differ at "
        "the start, the measured do not speak for all."
    )


def _neither(cases: pd.DataFrame, sets: CaseSets) -> tuple[LeftOut, ...]:
    due = cases[cases["is_due"].eq(True)]
    neither = due.index[~due["state"].isin(["measured", "lost"])]
    words = "due, but without a first score or not comparable with it"
    left = sets.left_out(words, "start_neither", neither)
    return (left,) if left.count else ()


def bounds_block(data: PeriodData, sets: CaseSets) -> Block:
    """Return what the response rate would be, whatever became of the lost."""
    cases = data.cases
    firsts = cases[cases["is_first"] & cases["is_due"].eq(True)]
    roomy = firsts[firsts["has_room"] == 1]
    measured = roomy[roomy["state"] == "measured"]
    unknown = roomy[roomy["state"] != "measured"]
    reached = measured.index[measured["is_important"] == 1]
    numbers = (len(reached), len(measured), len(unknown))
    found = bounds(*numbers)
    best = sets.keep("bounds_best", reached.union(unknown.index))
    keys = (sets.keep("bounds_reached", reached), best)
    return Block(
        title="What the lost leave open",
        says=_bounds_says(found, len(unknown)),
        table=Table(
            caption="Knees that reached an important gain, by what became of the lost",
            head=("If", "Share", "95 % interval"),
            rows=_bounds_rows(found, numbers, keys) if found else (),
        ),
        n=len(measured),
        of=len(roomy),
        of_what="people due, one knee each, with room to gain",
        left_out=_without_room(firsts, unknown, sets),
        notes=(ONE_KNEE, BOUNDS_RULE),
    )


def _bounds_rows(
    found: Bounds, numbers: tuple[int, int, int], keys: tuple[str, str]
) -> tuple[tuple[Cell, ...], ...]:
    reached, best = keys
    rows = [_bound("Not one of the lost reached it", found.worst, reached)]
    if found.measured:
        rows.append(_bound("Among the measured alone", found.measured, reached))
    half = rate_if_lost_did(*numbers, times=0.5)
    if half is not None and numbers[2] and is_enough(found.worst.of):
        words = Cell(f"about {100 * half:.0f}\N{NO-BREAK SPACE}%")
        rows.insert(1, (Cell("The lost did half as well"), words, Cell(DASH)))
    return (*rows, _bound("All of the lost reached it", found.best, best))


def _bound(name: str, share: Share, key: str) -> tuple[Cell, ...]:
    words = counted(share.count, share.of)
    return Cell(name), Cell(words, key), Cell(share_ends(share))


def _bounds_says(found: Bounds | None, unknown: int) -> str:
    if found is None:
        return "No knee with room to gain is due yet."
    worst, best = (counted(s.count, s.of) for s in (found.worst, found.best))
    if not unknown:
        return f"Nobody is lost: {worst} reached an important gain."
    return (
        f"Between {worst} and {best} reached an important gain: that is how much the "
        "lost leave open."
    )


def _without_room(
    firsts: pd.DataFrame, unknown: pd.DataFrame, sets: CaseSets
) -> tuple[LeftOut, ...]:
    apart = unknown.index[unknown["state"] == "not comparable"]
    found = (
        sets.left_out(
            "not comparable with the first score, counted here with the lost",
            "bounds_not_comparable",
            apart,
        ),
        sets.left_out(
            "without room to gain", "bounds_room", firsts.index[firsts["has_room"] == 0]
        ),
        sets.left_out(
            "without a first score",
            "bounds_baseline",
            firsts.index[firsts["baseline"].isna()],
        ),
    )
    return tuple(left for left in found if left.count)
