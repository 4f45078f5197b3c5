"""What asks for a review now, one row for each finding of a case in care."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

import pandas as pd

from clinic.models import Episode

from ..caseload import build_caseload
from ..science.policy import StallPolicy

COLUMNS = ("episode", "rule", "title", "since", "is_resting")


def read_flags(
    episodes: Iterable[Episode], *, policy: StallPolicy, on: date
) -> pd.DataFrame:
    """Return the findings of open cases, with the days that each has stood."""
    rows = [
        (row.episode.pk, found.rule.key, found.title, found.since, is_resting)
        for row in build_caseload(episodes, policy=policy, on=on)
        for findings, is_resting in ((row.findings, False), (row.resting, True))
        for found in findings
    ]
    flags = pd.DataFrame.from_records(rows, columns=list(COLUMNS))
    flags["since"] = pd.to_datetime(flags["since"])
    flags["days"] = (pd.Timestamp(on) - flags["since"]).dt.days.astype("float64")
    return flags
