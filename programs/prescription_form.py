"""The form of a line: what is typed becomes a checked `Line`, or reasons at fields."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields, replace
from datetime import date, timedelta
from typing import Any

from django import forms

from clinic.day_field import DayInput
from clinic.models import Episode

from .dosing.limits import DosingPolicy
from .line_rules import faults, with_load
from .lines import LINE_FIELDS, Line
from .models import ClinicExercise, Prescription
from .programme_forms import why_field
from .proposals import helps_of

FURTHEST_DAYS = 90  # project assumption: a later start is planned at a later visit
AMOUNT = (
    "sets",
    "repetitions",
    "scheme",
    "hold_seconds",
    "minutes",
    "times_a_week",
    "rest_seconds",
    "tempo",
)
LOAD = ("load", "load_kg", "load_percent", "band")
EQUIPMENT = ("one_rm_kg", "plate_step_kg", "empty_kg")
HOW = ("on_side", "range_from", "range_to", "note")
CUFF = ("occlusion_mmhg", "occlusion_side", "occlusion_measured_on", "cuff_percent")
OF_A_LOAD = {"load_kg": "kg", "load_percent": "percent", "band": "band"}
EMPTY = {item.name: item.default for item in fields(Line) if item.name != "scheme"}


def whole(label: str, help_text: str = "") -> forms.IntegerField:
    """Return an optional field for a whole number."""
    box = forms.NumberInput(attrs={"inputmode": "numeric"})
    return forms.IntegerField(
        required=False, label=label, help_text=help_text, widget=box
    )


def number(label: str, help_text: str = "") -> forms.FloatField:
    """Return an optional field for a number with decimals."""
    box = forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"})
    return forms.FloatField(
        required=False, label=label, help_text=help_text, widget=box
    )


@dataclass(frozen=True, slots=True)
class FieldGroup:
    """Fields that belong together: those that apply, and the others folded away."""

    title: str
    shown: list[forms.BoundField]
    more: list[forms.BoundField]
    more_title: str

    @property
    def is_open(self) -> bool:
        """Whether the folded fields hold something to mend or to see."""
        return any(field.errors or field.value() for field in self.more)


class PrescriptionForm(forms.Form):
    """One exercise with its dose, load, range, side, days and reason."""

    sets = whole("Sets")
    repetitions = whole("Repetitions")
    scheme = forms.CharField(
        required=False,
        label="Repetitions set by set",
        help_text="In place of sets and repetitions; for example 30-15-15-15.",
    )
    hold_seconds = whole("Hold, seconds")
    minutes = whole("Minutes")
    times_a_week = whole("Times a week")
    rest_seconds = whole("Rest between sets, seconds")
    tempo = forms.CharField(required=False, max_length=40, label="Tempo")
    load = forms.ChoiceField(
        choices=Prescription.Load.choices,
        label="The load is given in",
        widget=forms.RadioSelect,
    )
    load_kg = number("Load, kg")
    load_percent = number("Per cent of 1RM")
    band = forms.CharField(required=False, max_length=40, label="Band")
    one_rm_kg = number(
        "1RM, kg", "From a set near failure; see “Work out a load” on this page."
    )
    plate_step_kg = number(
        "Smallest step of the load, kg", "A load from a percentage is rounded down."
    )
    empty_kg = number("Weight of the empty equipment, kg")
    on_side = forms.ChoiceField(
        choices=Prescription.On.choices, label="Side", widget=forms.RadioSelect
    )
    range_from = whole("Knee bent from, degrees")
    range_to = whole("to, degrees")
    note = forms.CharField(
        required=False,
        max_length=300,
        label="Note",
        help_text="What to watch, or a cue that helps.",
    )
    occlusion_mmhg = whole(
        "Occlusion pressure, mmHg", "Measured on this limb; never estimated."
    )
    occlusion_side = forms.ChoiceField(
        required=False,
        label="Measured on",
        choices=[("", "Choose the leg"), ("left", "Left leg"), ("right", "Right leg")],
    )
    occlusion_measured_on = forms.DateField(
        required=False, label="Measured on the day", widget=DayInput
    )
    cuff_percent = whole("Cuff pressure, % of the occlusion pressure")
    starts_on = forms.DateField(required=False, label="Starts on", widget=DayInput)
    why = why_field()

    def __init__(
        self,
        *args: Any,
        line: Line,
        case: Episode,
        policy: DosingPolicy,
        on: date,
        is_change: bool,
        **kwargs: Any,
    ) -> None:
        kwargs["initial"] = {"starts_on": on, **initial_of(line)}
        super().__init__(*args, **kwargs)
        self.proposed, self.case, self.policy, self.on = line, case, policy, on
        self.entry = line.entry
        self.line = line
        self.is_change = is_change
        if is_change:
            del self.fields["starts_on"]
        else:
            self.fields["why"].required = False
        for name, words in helps_of(line, policy).items():
            self.fields[name].help_text = words

    def clean_scheme(self) -> tuple[int, ...]:
        """Read "30-15-15-15"; commas and spaces do as well."""
        typed = self.cleaned_data["scheme"].replace("-", " ").replace(",", " ").split()
        if not all(part.isascii() and part.isdigit() for part in typed):
            raise forms.ValidationError("Numbers with a dash between: 30-15-15-15.")
        return tuple(int(part) for part in typed[:20])

    def clean_starts_on(self) -> date:
        """Refuse days before the episode and far ahead; empty means today."""
        starts_on: date = self.cleaned_data["starts_on"] or self.on
        if starts_on < self.case.opened_on:
            raise forms.ValidationError("The episode was not open yet.")
        if starts_on > self.on + timedelta(days=FURTHEST_DAYS):
            raise forms.ValidationError(f"At most {FURTHEST_DAYS} days ahead.")
        return starts_on

    def clean(self) -> dict[str, Any]:
        """Make the line of what was typed and put each reason at its field."""
        typed = super().clean() or self.cleaned_data
        for name, kind in OF_A_LOAD.items():
            if typed.get("load") != kind and name in typed:
                typed[name] = EMPTY[name]
        if typed.get("scheme"):
            typed["sets"] = typed["repetitions"] = None
        known = {name: typed[name] for name in LINE_FIELDS if name in typed}
        self.line = with_load(replace(self.proposed, **known), self.policy)
        found = faults(self.line, episode=self.case, policy=self.policy, on=self.on)
        for name, reason in found.items():
            if name not in self.errors:
                self.add_error(name if name in self.fields else None, reason)
        return typed

    @property
    def groups(self) -> list[FieldGroup]:
        """The fields as the page shows them: what applies first."""
        applies = applying(self.proposed)
        found = [
            self._group("How much", AMOUNT, applies, "Other ways to count"),
            self._group("Load", LOAD, LOAD, ""),
            self._group("Side and range", HOW, HOW, ""),
        ]
        has_cuff = any(self[name].value() for name in CUFF)
        if self.proposed.is_flow_restricted or has_cuff:
            found.insert(2, self._group("Cuff", CUFF, CUFF, ""))
        return found

    @property
    def equipment(self) -> FieldGroup:
        """1RM and what the equipment holds; folded away unless needed."""
        is_needed = self.proposed.is_flow_restricted
        shown = EQUIPMENT if is_needed else ()
        return self._group("", EQUIPMENT, shown, "1RM and plates")

    def _group(
        self, title: str, names: Sequence[str], shown: Iterable[str], more_title: str
    ) -> FieldGroup:
        """Show what applies, and what else came back with something to mend."""
        kept = [name for name in names if name in shown]
        rest = [name for name in names if name not in kept]
        return FieldGroup(
            title,
            [self[name] for name in kept],
            [self[name] for name in rest],
            more_title,
        )


def initial_of(line: Line) -> dict[str, Any]:
    """Return a line as the form shows it, whole numbers without a decimal."""
    shown = {
        name: int(value) if isinstance(value, float) and value.is_integer() else value
        for name, value in line.columns.items()
    }
    return shown | {"scheme": "-".join(map(str, line.scheme))}


def applying(line: Line) -> set[str]:
    """Return the fields of amount that a line of this kind fills."""
    filled = {name for name in AMOUNT if getattr(line, name) not in (None, "", ())}
    if not filled & {"scheme", "repetitions", "hold_seconds", "minutes"}:
        is_own = isinstance(line.entry, ClinicExercise)
        filled |= {"sets", "repetitions"} if is_own else set()
    return filled | {"times_a_week"}
