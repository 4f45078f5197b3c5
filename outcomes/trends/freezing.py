"""The numbers of a period that a reference keeps, worked out once, when declared."""

from __future__ import annotations

from datetime import date
from typing import Any

from clinic.models import Site

from ..period_choice import Choice
from ..reference_subjects import ReferenceSubject
from .adjusted_model import model_numbers
from .months_reference import months_reference
from .reading import read_period


def frozen_numbers(
    site: Site, about: ReferenceSubject, *, from_on: date, until_on: date, on: date
) -> dict[str, Any]:
    """Return a subject's numbers, as plain JSON, from cases opened in the period.

    Raises ValueError, in words for the person, where the period cannot carry them.
    """
    choice = Choice(from_on=from_on, until_on=until_on)
    data = read_period(site, choice, on=on)
    if about.measure:
        return model_numbers(data, about.measure)
    return months_reference(data, about.subject)
