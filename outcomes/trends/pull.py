"""What error and arithmetic do by themselves to those who begin badly."""

from __future__ import annotations

import numpy as np
import pandas as pd

from clinic.templatetags.clinic_format import DASH, MINUS, score, signed

from ..science.group.adjusted import Correlation, coupled, oldham
from ..science.group.regression_to_mean import expected_retest, expected_shift
from ..science.group.small_numbers import FLOOR
from ..science.measures import Measure
from .sections import Block, Cell, Table

SOURCES = (
    "Gain from error alone: Barnett, van der Pols and Dobson 2005 (Int J Epidemiol "
    "34:215), with the reliability that the measurement error leaves among the people "
    "counted here. It takes scores for normally distributed.",
    "Whether those who began worse gained more is asked of change and the mean of both "
    "scores (Oldham; Pitman and Morgan): below zero the scores drew together.",
)
ALPHA = 0.05


def pull_block(rows: pd.DataFrame, about: Measure, sem: float) -> Block:
    """Return the pull to the mean and the coupling in these cases; `sem` in points."""
    is_enough = len(rows) >= FLOOR and float(rows["baseline"].std()) > 0
    found = oldham(rows["baseline"], rows["follow_up"]) if is_enough else None
    says = (
        _says(rows, about, sem, found)
        if is_enough
        else "Too few cases with differing first scores to say what error alone does."
    )
    return Block(
        title=f"{about.short_name}: do the worse gain more?",
        says=says,
        table=Table(
            "What error and arithmetic do by themselves",
            ("What", "Points or correlation"),
            _rows(rows, about, sem, found) if is_enough else (),
        ),
        n=len(rows) if is_enough else 0,
        of=len(rows),
        of_what="cases with an outcome",
        notes=SOURCES,
    )


def _shift(rows: pd.DataFrame, sem: float) -> float:
    start = rows["baseline"]
    mean, sd = float(start.mean()), float(start.std())
    return expected_shift(sd=sd, mean=mean, cut=mean, reliability=_reliability(sd, sem))


def _reliability(sd: float, sem: float) -> float:
    """Return the share of the spread that is between people, none at the least."""
    return max(0.0, 1 - (sem / sd) ** 2)


def _says(
    rows: pd.DataFrame, about: Measure, sem: float, found: Correlation | None
) -> str:
    shift = signed(_shift(rows, sem))
    words = (
        f"Measurement error alone would show about {shift} points in those who began "
        "worse than average, with no true change."
    )
    if found is None:
        return words
    if found.p >= ALPHA:
        return f"{words} There is no sign that the worse gained more than the better."
    is_closer = found.r < 0
    drew = "drew together" if is_closer else "spread out"
    who = "worse" if is_closer == _is_higher(about) else "better"
    return f"{words} The scores {drew}: those who began {who} gained more."


def _is_higher(about: Measure) -> bool:
    return about.better is None or about.better.sign > 0


def _rows(
    rows: pd.DataFrame, about: Measure, sem: float, found: Correlation | None
) -> tuple[tuple[Cell, ...], ...]:
    start, end = rows["baseline"], rows["follow_up"]
    mean, sd = float(start.mean()), float(start.std())
    held = _reliability(sd, sem)
    low = mean - sd if _is_higher(about) else mean + sd
    again = expected_retest(low, mean=mean, reliability=held)
    lines = {
        "Mean of the first scores": score(mean),
        "Standard deviation of the first scores": score(sd),
        "Standard error of measurement in force": score(sem),
        "Reliability among these people": _two(held),
        "Gain from error alone, of those who began worse than the mean": signed(
            _shift(rows, sem)
        ),
        f"One person at {score(low)}, measured again with no true change": score(again),
        "Correlation of change and first score by arithmetic alone": _coupling(
            start, end
        ),
        "Correlation of change with the mean of both scores": _oldham(found),
    }
    return tuple((Cell(name), Cell(value)) for name, value in lines.items())


def _coupling(start: pd.Series, end: pd.Series) -> str:
    if np.ptp(start) == 0 or np.ptp(end) == 0:
        return DASH
    return _two(coupled(float(np.corrcoef(start, end)[0, 1])))


def _oldham(found: Correlation | None) -> str:
    if found is None:
        return DASH
    p = "p below .001" if found.p < 0.001 else f"p {found.p:.3f}"
    return f"{_two(found.r)}, {p}"


def _two(value: float) -> str:
    return f"{value:.2f}".replace("-", MINUS)
