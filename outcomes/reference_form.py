"""The form that declares a reference period: when, and why this one."""

from collections.abc import Callable
from datetime import date
from typing import Any

from django import forms

from clinic.day_field import STILL_TO_COME, DayInput

Freeze = Callable[[date, date], dict[str, Any]]


class ReferenceForm(forms.Form):
    """A period of openings; once it is found valid, `numbers` holds what to freeze."""

    from_on = forms.DateField(label="Cases opened from", widget=DayInput)
    until_on = forms.DateField(label="to, that day included", widget=DayInput)
    why = forms.CharField(
        max_length=300,
        label="Why this period",
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="For example: the last year before the new programme.",
    )

    def __init__(self, *args: Any, freeze: Freeze, on: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.freeze, self.on = freeze, on
        self.numbers: dict[str, Any] = {}

    def clean_until_on(self) -> date:
        """Refuse a period that is not over."""
        until_on: date = self.cleaned_data["until_on"]
        if until_on > self.on:
            raise forms.ValidationError(STILL_TO_COME)
        return until_on

    def clean(self) -> dict[str, Any]:
        """Work out the numbers, or say why the period cannot carry them."""
        entered = super().clean() or self.cleaned_data
        from_on, until_on = entered.get("from_on"), entered.get("until_on")
        if not from_on or not until_on:
            return entered
        if until_on <= from_on:
            self.add_error("until_on", "The period would end before it begins.")
            return entered
        try:
            self.numbers = self.freeze(from_on, until_on)
        except ValueError as refusal:
            self.add_error(None, str(refusal))
        return entered
