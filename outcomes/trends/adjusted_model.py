"""The model of one measure: which cases it rests on, and its numbers for keeping."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pandas as pd

from clinic.templatetags.clinic_format import day

from ..frames.period import CLOSES_DAYS_AFTER, PeriodData
from ..science.group.adjusted import PER_COEFFICIENT, NoSpread, TooFew, fit
from ..science.measures import measure


def model_cases(cases: pd.DataFrame, key: str) -> pd.DataFrame:
    """Return one knee a person, measured by `key`, with its `follow_up` score.

    The follow-up is the first score moved by the gain, so that a person's own
    activities count as they were compared.
    """
    about = measure(key)
    chosen = (
        cases["is_first"].eq(True)
        & cases["measure"].eq(key)
        & cases["state"].eq("measured")
        & cases["gain"].notna()
        & cases["months"].notna()
    )
    rows = cases[chosen]
    sign = about.better.sign if about.better else 1
    return rows.assign(follow_up=rows["baseline"] + sign * rows["gain"])


def model_numbers(data: PeriodData, key: str) -> dict[str, Any]:
    """Return the model fitted on the period as plain JSON.

    Raises ValueError, in words for the person, for too few patients, for first
    scores that do not differ, and while outcomes of the period are still to come.
    """
    _refuse_unfinished(data)
    rows = model_cases(data.cases, key)
    try:
        model = fit(rows["follow_up"], rows["baseline"], rows["months"])
    except TooFew as few:
        raise ValueError(
            f"Of the people whose case was opened in this period, {few.has} have an "
            f"outcome; the model needs {few.needs}, {PER_COEFFICIENT} for each of its "
            "three coefficients. Choose a longer period, or wait for more."
        ) from few
    except NoSpread as same:
        raise ValueError(
            "The first scores or the months of symptoms hardly differ in this period, "
            "so nothing can be learned from them. Choose another period."
        ) from same
    lowest, highest = float(rows["baseline"].min()), float(rows["baseline"].max())
    return {**model.to_plain(), "baselines": [lowest, highest]}


def _refuse_unfinished(data: PeriodData) -> None:
    """Refuse while outcomes are to come: early ones alone are not like the rest."""
    wait = timedelta(weeks=data.policy.planned_weeks, days=CLOSES_DAYS_AFTER)
    last_on = data.on - wait
    if data.choice.until_on > last_on:
        raise ValueError(
            "Cases opened near the end of this period still wait for their outcome. "
            f"Choose {day(last_on)} or an earlier day as the last one."
        )
