"""What was given in each case: one row for each component, however often."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import date
from typing import Any

import pandas as pd
from django.db.models import QuerySet

from programs.components import components
from programs.models import OtherCare, Prescription

# Keys, or a query of them.
Episodes = Collection[int] | QuerySet[Any, Any]
LINE_FIELDS = (
    "phase__programme__episode_id",
    "exercise",
    "clinic_exercise__target",
    "clinic_exercise__is_bfr",
    "cuff_percent",
    "occlusion_mmhg",
)


def read_given(episodes: Episodes, *, on: date) -> pd.DataFrame:
    """Return the components that began by a day, each once a case; two queries."""
    rows = sorted({*_prescribed(episodes, on), *_beside(episodes, on)})
    given = pd.DataFrame.from_records(rows, columns=["episode", "component"])
    return given.astype({"episode": "int64", "component": "str"})


def _prescribed(episodes: Episodes, on: date) -> Iterator[tuple[int, str]]:
    lines = Prescription.objects.standing().filter(
        phase__programme__episode__in=episodes,
        phase__programme__voided_at__isnull=True,
        starts_on__lte=on,
    )
    for episode, exercise, own, own_bfr, percent, mmhg in lines.values_list(
        *LINE_FIELDS
    ):
        has_cuff = bool(own_bfr) or percent is not None or mmhg is not None
        for component in components(exercise, own, has_cuff=has_cuff):
            yield episode, component


def _beside(episodes: Episodes, on: date) -> Iterator[tuple[int, str]]:
    rows = OtherCare.objects.standing().filter(episode__in=episodes, began_on__lte=on)
    for episode, what in rows.values_list("episode_id", "what"):
        yield episode, OtherCare.What(what).label.lower()
