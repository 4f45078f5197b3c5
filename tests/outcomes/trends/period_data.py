"""Builds a period by hand, without a database: cases with their scores."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import pandas as pd

from outcomes.frames.cases import duration_of
from outcomes.frames.flags import COLUMNS as FLAGS
from outcomes.frames.looks import judged
from outcomes.frames.period import PeriodData, narrowed, with_outcomes
from outcomes.period_choice import Choice
from outcomes.science.policy import StallPolicy

ON = date(2026, 6, 1)
PEOPLE = {1: "Bram Ocketts", 2: "Juno Pellavar", 3: "Maud Everlook"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One invented case; `scores` are (day after opening, score) pairs."""

    opened_on: date = date(2025, 9, 1)
    scores: Sequence[tuple[int, float]] = ()
    patient: int | None = None
    clinician: int = 1
    side: str = "left"
    months: float = 6.0
    discharged_on: date | None = None
    reason: str = ""
    irritability: str = "moderate"
    measure: str = "akps"
    age: float = 30.0


def period_data(
    cases: Sequence[Case],
    *,
    on: date = ON,
    choice: Choice | None = None,
    policy: StallPolicy | None = None,
    **more: Any,
) -> PeriodData:
    """Return what the sections read; the episodes are numbered from 1."""
    policy = policy or StallPolicy()
    choice = choice or Choice(from_on=date(2025, 1, 1), until_on=on)
    looks = judged(_looks(cases), policy)
    framed = with_outcomes(_cases(cases), looks, policy=policy, on=on)
    framed = narrowed(framed, choice)
    stands = {
        "looks": looks[looks["episode"].isin(framed.index)].reset_index(drop=True),
        "reviews": _reviews([]),
        "flags": pd.DataFrame(columns=[*FLAGS, "days"]),
        "given": pd.DataFrame(columns=["episode", "component"]),
        "people": PEOPLE,
        "declined": 0,
    }
    return PeriodData(
        choice=choice, on=on, policy=policy, cases=framed, **{**stands, **more}
    )


def _cases(cases: Sequence[Case]) -> pd.DataFrame:
    rows = [
        {
            "episode": number,
            "patient": case.patient or number,
            "clinician": case.clinician,
            "side": case.side,
            "sex": "F",
            "age": case.age,
            "opened": pd.Timestamp(case.opened_on),
            "discharged": pd.Timestamp(case.discharged_on)
            if case.discharged_on
            else pd.NaT,
            "reason": case.reason,
            "months": case.months,
            "irritability": case.irritability,
            "measure": case.measure,
        }
        for number, case in enumerate(cases, 1)
    ]
    columns = list(rows[0]) if rows else list(_EMPTY)
    frame = pd.DataFrame(rows, columns=columns).astype(_EMPTY)
    frame["duration"] = duration_of(frame["months"])
    return frame.set_index("episode")


_EMPTY = {
    "episode": "int64",
    "patient": "int64",
    "clinician": "int64",
    "side": "str",
    "sex": "str",
    "age": "float64",
    "opened": "datetime64[us]",
    "discharged": "datetime64[us]",
    "reason": "str",
    "months": "float64",
    "irritability": "str",
    "measure": "str",
}


def _looks(cases: Sequence[Case]) -> pd.DataFrame:
    rows = [
        (
            number,
            pd.Timestamp(case.opened_on) + pd.Timedelta(days=day),
            float(score),
            1,
            "en",
            "alone",
            number * 1000 + at,
            case.measure,
            float(day),
        )
        for number, case in enumerate(cases, 1)
        for at, (day, score) in enumerate(case.scores)
    ]
    kinds = {
        "episode": "int64",
        "on": "datetime64[us]",
        "score": "float64",
        "edition": "int64",
        "language": "str",
        "mode": "str",
        "row": "int64",
        "about": "str",
        "day": "float64",
    }
    frame = pd.DataFrame(rows, columns=list(kinds)).astype(kinds)
    return frame.sort_values(["on", "row"], ignore_index=True)


def _reviews(rows: Sequence[tuple[Any, ...]]) -> pd.DataFrame:
    names = ("episode", "reviewed_on", "decision", "look_again_on", "findings", "weeks")
    return pd.DataFrame.from_records(list(rows), columns=list(names))
