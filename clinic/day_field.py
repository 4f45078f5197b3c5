"""A day that is typed into a form about a case."""

from datetime import date
from typing import Any

from django import forms

from .models import Episode
from .templatetags.clinic_format import day

STILL_TO_COME = "This day is still to come."


class DayInput(forms.DateInput):
    """A day, with the browser's own picker where there is one."""

    input_type = "date"

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(format="%Y-%m-%d", **kwargs)


def day_within(value: date, *, case: Episode, on: date) -> date:
    """Return the day, or say why it cannot be one of this case."""
    if value > on:
        raise forms.ValidationError(STILL_TO_COME)
    if value < case.opened_on:
        raise forms.ValidationError(
            f"The episode was not open yet; it opened on {day(case.opened_on)}."
        )
    return value
