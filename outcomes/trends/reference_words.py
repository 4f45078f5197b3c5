"""What the months are held against, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from clinic.templatetags.clinic_format import day

from ..frames.period import PeriodData
from ..science.group.control import FEWEST_POINTS
from .months_reference import is_narrowed


def basis_words(data: PeriodData, reference: Mapping[str, Any] | None) -> str:
    """Say why there are no limits; nothing where there are."""
    if reference:
        return ""
    if is_narrowed(data.choice):
        return (
            "A reference period is of the whole clinic, so this choice of cases has no "
            "limits."
        )
    return (
        "There are no limits, since no reference period is declared for this. A lead "
        f"declares one of at least {FEWEST_POINTS} complete points under Reference "
        "periods; from then on every month is held against it."
    )


def basis_note(reference: Mapping[str, Any] | None) -> tuple[str, ...]:
    """Say which period the limits come from; nothing where there are none."""
    if not reference:
        return ()
    return (
        f"Limits are frozen on the cases opened {day(reference['from_on'])} to "
        f"{day(reference['until_on'])} ({reference['numbers']['points']} points), as "
        "they stood when that was declared; later months do not move them.",
    )
