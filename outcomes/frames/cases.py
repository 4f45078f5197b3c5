"""One row for each case of a period, as it stood when it opened."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from ..period_choice import Choice, duration_band

if TYPE_CHECKING:
    from clinic.querysets import EpisodeQuerySet

DAYS_OF_A_MONTH = 365.25 / 12
DAYS_OF_A_YEAR = 365.25
FIELDS = {
    "pk": "episode",
    "patient_id": "patient",
    "clinician_id": "clinician",
    "side": "side",
    "patient__sex": "sex",
    "patient__birth_date": "born",
    "opened_on": "opened",
    "discharged_on": "discharged",
    "discharge_reason": "reason",
    "symptom_onset_on": "onset",
    "irritability": "irritability",
    "primary_measure": "measure",
}
DAYS = ("born", "opened", "discharged", "onset")
KEYS = ("episode", "patient", "clinician")
WORDS = ("side", "sex", "reason", "irritability", "measure")


def opened_in(episodes: EpisodeQuerySet, choice: Choice) -> EpisodeQuerySet:
    """Narrow to the period, the clinician and the side; declining people stay in."""
    chosen = episodes.standing().filter(
        opened_on__range=(choice.from_on, choice.until_on)
    )
    if choice.clinician is not None:
        chosen = chosen.filter(clinician_id=choice.clinician)
    return chosen.filter(side=choice.side) if choice.side else chosen


def read_cases(episodes: EpisodeQuerySet) -> pd.DataFrame:
    """Return the cases in order of opening, by episode; one query.

    `months` is how long the knee had hurt, `age` in years, both at opening.
    """
    rows = episodes.order_by("opened_on", "pk").values_list(*FIELDS)
    cases = pd.DataFrame.from_records(list(rows), columns=list(FIELDS.values()))
    for name in DAYS:
        cases[name] = pd.to_datetime(cases[name])
    cases = cases.astype(dict.fromkeys(WORDS, "str") | dict.fromkeys(KEYS, "int64"))
    cases["months"] = (cases["opened"] - cases["onset"]).dt.days / DAYS_OF_A_MONTH
    cases["age"] = (cases["opened"] - cases["born"]).dt.days / DAYS_OF_A_YEAR
    cases["duration"] = duration_of(cases["months"])
    return cases.drop(columns=["born", "onset"]).set_index("episode")


def duration_of(months: pd.Series) -> pd.Series:
    """Return the band of each symptom duration in months."""
    bands = {each: duration_band(each) for each in months.unique().tolist()}
    return months.map(bands).astype("str")
