"""The form for a site's review policy: one field a number, judged by the science."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from django import forms

from clinic.sourced.policy_numbers import PolicyError, PolicyField, Shape

from .science.measures import measure
from .science.policy import (
    MEASURES_WITH_OVERRIDES,
    POLICY_FIELDS,
    StallPolicy,
)
from .science.thresholds import Kind

STEP = {Shape.WHOLE: "1", Shape.NUMBER: "any", Shape.OPTIONAL: "any"}


@dataclass(frozen=True, slots=True)
class PolicyRow:
    """One number on the page: its field, its description, whether it differs."""

    setting: PolicyField
    field: forms.BoundField
    is_changed: bool
    stored_words: str = ""  # what is stored, where a save was refused

    @property
    def default_words(self) -> str:
        """Return the default as it would be typed."""
        return as_typed(self.setting.default) or "empty"

    @property
    def catalogue_words(self) -> str:
        """Return the catalogue's own number, with its source, that a site replaces."""
        what, _, key = self.setting.name.partition("_")
        if key not in MEASURES_WITH_OVERRIDES:
            return ""
        about = measure(key)
        if what == "goal":
            has_goal = about.goal is not None
            return f"{about.goal:g}. {about.goal_note}" if has_goal else "none"
        found = about.threshold(Kind(what))
        if found is None:
            return "none"
        return f"{found.value:g} ({found.source.citation}; {found.source.mark})"

    @property
    def range_words(self) -> str:
        """Return what may be typed."""
        return f"{self.setting.low:g} to {self.setting.high:g}"


def as_typed(value: Any) -> str:
    """Return a policy value as a person types it."""
    if value is None:
        return ""
    if isinstance(value, list | tuple):
        return ", ".join(map(str, value))
    return f"{value:g}"


class PolicyForm(forms.Form):
    """Every number of the policy; empty optional ones keep the catalogue's."""

    def __init__(self, *args: Any, stored: Mapping[str, Any], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.stored_policy = StallPolicy.from_values(stored)
        self.stored = self.stored_policy.to_values()
        self.policy: StallPolicy | None = None
        for setting in POLICY_FIELDS:
            self.fields[setting.name] = forms.CharField(
                required=False,
                label=setting.label,
                initial=as_typed(self.stored[setting.name]),
                widget=_widget(setting),
                max_length=80,
            )

    def clean(self) -> dict[str, Any]:
        """Let the policy judge its own numbers, and put each verdict at its field."""
        entered = super().clean() or self.cleaned_data
        if self.errors:
            return entered
        try:
            self.policy = StallPolicy.from_values(entered)
        except PolicyError as error:
            for name, sentence in error.errors.items():
                self.add_error(name, sentence)
        return entered

    @property
    def differing(self) -> dict[str, Any]:
        """Return what differs from the defaults, as it is stored."""
        values = (self.policy or StallPolicy()).to_values()
        defaults = StallPolicy().to_values()
        return {name: v for name, v in values.items() if v != defaults[name]}

    def groups(self) -> list[tuple[str, list[PolicyRow]]]:
        """Return the rows under the heading of each group."""
        in_force = self.policy.to_values() if self.policy else self.stored
        defaults = StallPolicy().to_values()
        rows = [
            PolicyRow(
                setting,
                self[setting.name],
                in_force[setting.name] != defaults[setting.name],
                self._stored_words(setting.name),
            )
            for setting in POLICY_FIELDS
        ]
        return [
            (name, list(of)) for name, of in groupby(rows, lambda r: r.setting.group)
        ]

    def _stored_words(self, name: str) -> str:
        """Return the stored number where somebody else's is about to be replaced."""
        if not (self.policy and hasattr(self, "stale_row")):
            return ""
        stored, typed = self.stored[name], self.policy.to_values()[name]
        return as_typed(stored) or "empty" if stored != typed else ""


class ResetForm(forms.Form):
    """The yes that puts every default back."""

    reset = forms.BooleanField(
        label="Yes, put every number back to its default",
        error_messages={"required": "Tick this to put every number back."},
    )
    is_reset = forms.CharField(widget=forms.HiddenInput, required=False)


def _widget(setting: PolicyField) -> forms.Widget:
    if setting.shape is Shape.WEEKS:
        return forms.TextInput(attrs={"autocomplete": "off"})
    return forms.NumberInput(
        attrs={
            "min": f"{setting.low:g}",
            "max": f"{setting.high:g}",
            "step": STEP[setting.shape],
        }
    )
