"""The form for a site's dosing numbers: one field a number, judged by the policy."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from django import forms

from clinic.sourced.policy_numbers import PolicyError, PolicyField, Shape

from .dosing.limits import DOSING_FIELDS, DosingPolicy
from .models import SiteDosing

STEP = {Shape.WHOLE: "1", Shape.NUMBER: "any"}


@dataclass(frozen=True, slots=True)
class DosingRow:
    """One number on the page: its field, its description, whether it differs."""

    setting: PolicyField
    field: forms.BoundField
    is_changed: bool
    stored_words: str = ""  # what is stored, where a save was refused

    @property
    def default_words(self) -> str:
        """Return the default as it would be typed."""
        return as_typed(self.setting.default)

    @property
    def range_words(self) -> str:
        """Return what may be typed."""
        if self.setting.shape is Shape.CHOICE:
            return "one of the list"
        return f"{self.setting.low:g} to {self.setting.high:g}"


def as_typed(value: Any) -> str:
    """Return a dosing value as a person types it."""
    return value if isinstance(value, str) else f"{value:g}"


class DosingForm(forms.Form):
    """Every dosing number of the site, and whether suggestions are shown."""

    is_advice_on = forms.BooleanField(required=False, label="Show suggestions")

    def __init__(self, *args: Any, stored: SiteDosing | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        values: Mapping[str, Any] = stored.values if stored else {}
        self.stored = DosingPolicy.from_values(values).to_values()
        self.is_stored_on = stored.is_advice_on if stored else True
        self.policy: DosingPolicy | None = None
        self.fields["is_advice_on"].initial = self.is_stored_on
        for setting in DOSING_FIELDS:
            self.fields[setting.name] = _field(setting, self.stored[setting.name])

    def clean(self) -> dict[str, Any]:
        """Let the policy judge its own numbers, and put each verdict at its field."""
        entered = super().clean() or self.cleaned_data
        numbers = {name: v for name, v in entered.items() if name in self.stored}
        if self.errors:
            return entered
        try:
            self.policy = DosingPolicy.from_values(numbers)
        except PolicyError as error:
            for name, sentence in error.errors.items():
                self.add_error(name, sentence)
        return entered

    @property
    def differing(self) -> dict[str, Any]:
        """Return what differs from the defaults, as it is stored."""
        defaults = DosingPolicy().to_values()
        values = self.policy.to_values() if self.policy else defaults
        return {name: v for name, v in values.items() if v != defaults[name]}

    def groups(self) -> list[tuple[str, list[DosingRow]]]:
        """Return the rows under the heading of each group."""
        in_force = self.policy.to_values() if self.policy else self.stored
        rows = [
            DosingRow(
                setting,
                self[setting.name],
                in_force[setting.name] != setting.default,
                self._stored_words(setting.name),
            )
            for setting in DOSING_FIELDS
        ]
        return [
            (name, list(of)) for name, of in groupby(rows, lambda r: r.setting.group)
        ]

    def advice_stored_words(self) -> str:
        """Say how suggestions are set where somebody else's choice is in the way."""
        if not (self.policy and hasattr(self, "stale_row")):
            return ""
        is_same = self.cleaned_data["is_advice_on"] == self.is_stored_on
        return "" if is_same else "on" if self.is_stored_on else "off"

    def _stored_words(self, name: str) -> str:
        """Return the stored number where somebody else's is about to be replaced."""
        if not (self.policy and hasattr(self, "stale_row")):
            return ""
        stored, typed = self.stored[name], self.policy.to_values()[name]
        return as_typed(stored) if stored != typed else ""


def _field(setting: PolicyField, value: Any) -> forms.Field:
    if setting.shape is Shape.CHOICE:
        options = [(key, key.capitalize()) for key in setting.choices]
        widget: forms.Widget = forms.Select(choices=options)
    else:
        widget = forms.NumberInput(
            attrs={
                "min": f"{setting.low:g}",
                "max": f"{setting.high:g}",
                "step": STEP[setting.shape],
            }
        )
    return forms.CharField(
        required=False,
        label=setting.label,
        initial=as_typed(value),
        widget=widget,
        max_length=80,
    )
