"""The form for numbers that a site sets: one field a number, judged by the policy."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Any, ClassVar, Generic, Protocol, Self, TypeVar

from django import forms

from .sourced.policy_numbers import PolicyError, PolicyField, Shape

STEP = {Shape.WHOLE: "1", Shape.NUMBER: "any", Shape.OPTIONAL: "any"}


class Policy(Protocol):
    """Numbers that a site may set; made without values, all are at their default."""

    def __init__(self) -> None: ...

    def to_values(self) -> dict[str, Any]: ...

    @classmethod
    def from_values(cls, values: Mapping[str, object]) -> Self: ...


P = TypeVar("P", bound=Policy)


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
    def range_words(self) -> str:
        """Return what may be typed."""
        if self.setting.shape is Shape.CHOICE:
            return "one of the list"
        return f"{self.setting.low:g} to {self.setting.high:g}"

    @property
    def note(self) -> str:
        """Return why the default is what it is, and how far that was checked."""
        return f"{self.setting.reason} ({self.setting.mark})"


def as_typed(value: Any) -> str:
    """Return a policy value as a person types it."""
    if value is None:
        return ""
    if isinstance(value, str):
        return value
    if isinstance(value, list | tuple):
        return ", ".join(map(str, value))
    return f"{value:g}"


class SitePolicyForm(forms.Form, Generic[P]):
    """Every number of one policy of a site; says what differs from the defaults."""

    kind: type[P]
    settings: ClassVar[tuple[PolicyField, ...]]
    row: ClassVar[type[PolicyRow]] = PolicyRow

    def __init__(self, *args: Any, stored: Mapping[str, Any], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.stored_policy = self.kind.from_values(stored)
        self.stored = self.stored_policy.to_values()
        self.policy: P | None = None
        for setting in self.settings:
            self.fields[setting.name] = _field(setting, self.stored[setting.name])

    def clean(self) -> dict[str, Any]:
        """Let the policy judge its own numbers, and put each verdict at its field."""
        entered = super().clean() or self.cleaned_data
        if self.errors:
            return entered
        numbers = {name: v for name, v in entered.items() if name in self.stored}
        try:
            self.policy = self.kind.from_values(numbers)
        except PolicyError as error:
            for name, sentence in error.errors.items():
                self.add_error(name, sentence)
        return entered

    @property
    def differing(self) -> dict[str, Any]:
        """Return what differs from the defaults, as it is stored."""
        defaults = self.kind().to_values()
        values = self.policy.to_values() if self.policy else defaults
        return {name: v for name, v in values.items() if v != defaults[name]}

    @property
    def is_stale(self) -> bool:
        """Whether somebody else saved before what was typed here could be."""
        return self.policy is not None and hasattr(self, "stale_row")

    def groups(self) -> list[tuple[str, list[PolicyRow]]]:
        """Return the rows under the heading of each group."""
        in_force = self.policy.to_values() if self.policy else self.stored
        defaults = self.kind().to_values()
        rows = [
            self.row(
                setting,
                self[setting.name],
                in_force[setting.name] != defaults[setting.name],
                self._stored_words(setting.name),
            )
            for setting in self.settings
        ]
        return [
            (name, list(of)) for name, of in groupby(rows, lambda r: r.setting.group)
        ]

    def _stored_words(self, name: str) -> str:
        """Return the stored number where somebody else's is about to be replaced."""
        if self.policy is None or not self.is_stale:
            return ""
        stored, typed = self.stored[name], self.policy.to_values()[name]
        return as_typed(stored) or "empty" if stored != typed else ""


def _field(setting: PolicyField, value: Any) -> forms.Field:
    return forms.CharField(
        required=False,
        label=setting.label,
        initial=as_typed(value),
        widget=_widget(setting),
        max_length=80,
    )


def _widget(setting: PolicyField) -> forms.Widget:
    if setting.shape is Shape.WEEKS:
        return forms.TextInput(attrs={"autocomplete": "off"})
    if setting.shape is Shape.CHOICE:
        return forms.Select(
            choices=[(key, key.capitalize()) for key in setting.choices]
        )
    return forms.NumberInput(
        attrs={
            "min": f"{setting.low:g}",
            "max": f"{setting.high:g}",
            "step": STEP[setting.shape],
        }
    )
