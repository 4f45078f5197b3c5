"""By how much: typical change, spread and effect sizes of each measure."""

from __future__ import annotations

import pandas as pd

from clinic.templatetags.clinic_format import DASH, score, signed

from ..science.group.location import (
    QUARTILE_RULE,
    effect_size,
    hodges_lehmann,
    quartiles,
    standardised_response_mean,
    student_mean,
)
from ..science.measures import measure
from .counted import CaseSets, name_of
from .intervals import change_ends, is_enough
from .sections import Block, Cell, LeftOut, Table

ROWS = (
    "Knees",
    "Typical change (Hodges–Lehmann)",
    "95 % interval of the typical change",
    "Lower and upper quartile",
    "Mean change (standard deviation)",
    "95 % interval of the mean",
    "Standardised response mean",
    "The same with Hedges’ correction",
    "Effect size by the baseline’s spread (Kazis)",
)
TYPICAL = (
    "Points of the measure's own scale, positive is better. The typical change is the "
    "median of all averages of two changes; its interval inverts the signed-rank test "
    "and covers at least 95 % (normal form above 200 knees); that of the mean is "
    "Student's. Knees without room to gain count here."
)
QUARTILES = f"Quartiles by {QUARTILE_RULE} (type 7)."
SIZES = (
    "Standardised response mean: mean change over the standard deviation of change; "
    "Hedges’ correction is for small groups. Effect size: mean change over the "
    "standard deviation at baseline. The two differ, and both grow where patients "
    "are alike. Neither is an effect of treatment."
)


def change_block(firsts: pd.DataFrame, sets: CaseSets) -> Block:
    """Return a column per primary measure; a knee that was measured again counts."""
    due = firsts[firsts["is_due"].eq(True)]
    measured = due[due["state"] == "measured"]
    keys = sorted(measured["measure"].unique())
    groups = [(key, measured[measured["measure"] == key]) for key in keys]
    return Block(
        title="Size of the change",
        says=_says(groups),
        table=Table(
            caption="Change from baseline to outcome, by measure",
            head=("Change in points", *(measure(key).short_name for key, _ in groups)),
            rows=_rows(groups, sets),
        ),
        n=len(measured),
        of=len(due),
        of_what="people due, one knee each",
        left_out=_left_out(due, sets),
        notes=(TYPICAL, QUARTILES, SIZES),
    )


def _rows(
    groups: list[tuple[str, pd.DataFrame]], sets: CaseSets
) -> tuple[tuple[Cell, ...], ...]:
    """Return a row per number and a column per measure."""
    if not groups:
        return ()
    columns = [_column(key, rows, sets) for key, rows in groups]
    names = [Cell(name) for name in ROWS]
    return tuple(zip(names, *columns, strict=True))


def _column(key: str, rows: pd.DataFrame, sets: CaseSets) -> tuple[Cell, ...]:
    gains = rows["gain"].tolist()
    typical, mean, spread = hodges_lehmann(gains), student_mean(gains), quartiles(gains)
    assert typical and mean and spread  # noqa: S101 - a group has a case
    deviation = "" if mean.sd is None else f" ({score(mean.sd)})"
    words = (
        signed(typical.value),
        change_ends(typical),
        f"{signed(spread.lower)}, {signed(spread.upper)}",
        f"{signed(mean.value)}{deviation}",
        change_ends(mean),
        *_response_means(gains),
        _effect(gains, rows["baseline"].tolist()),
    )
    knees = sets.cell(name_of("changed", key), rows.index)
    return knees, *(Cell(text) for text in words)


def _response_means(gains: list[float]) -> tuple[str, str]:
    found = standardised_response_mean(gains) if is_enough(len(gains)) else None
    if found is None:
        return DASH, DASH
    return _two(found.value), _two(found.corrected)


def _effect(gains: list[float], baselines: list[float]) -> str:
    found = effect_size(gains, baselines) if is_enough(len(gains)) else None
    return DASH if found is None else _two(found)


def _two(value: float) -> str:
    return f"{value:.2f}".replace("-", "−")


def _says(groups: list[tuple[str, pd.DataFrame]]) -> str:
    if not groups:
        return "No knee has an outcome yet, so there is no change to sum up."
    said = [_said(measure(key).short_name, rows["gain"]) for key, rows in groups]
    return f"Typical change: {'; '.join(said)}."


def _said(name: str, gains: pd.Series) -> str:
    found = hodges_lehmann(gains.tolist())
    value = signed(found.value) if found else DASH
    ends = change_ends(found)
    around = "" if ends == DASH else f" (95 % interval {ends})"
    return f"{name} {value} points{around}, n {len(gains)}"


def _left_out(due: pd.DataFrame, sets: CaseSets) -> tuple[LeftOut, ...]:
    states = {
        "lost": "lost: due, and not measured then",
        "not comparable": "due, not comparable with the first score",
        "without a baseline": "due, without a first score",
    }
    found = (
        sets.left_out(
            words,
            name_of("unchanged", state),
            due.index[due["state"] == state],
        )
        for state, words in states.items()
    )
    return tuple(left for left in found if left.count)
