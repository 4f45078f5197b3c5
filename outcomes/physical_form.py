"""The form of one physical test: trials by side, lever arm, weight, pain."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms import BoundField

from clinic.models import Episode
from clinic.templatetags.clinic_format import day

from .models import PhysicalResult
from .number_field import NumberField
from .physical_course import result_words
from .physical_panels import side_name
from .physical_recording import (
    PhysicalEntry,
    SideEntry,
    in_test_unit,
    sides_of,
    units_of,
)
from .science.phrases import number_words
from .science.physical_tests import BODY_KG, PhysicalTest, Takes, Trial
from .visit_form import RatingField, iso_day

CM_PER_M = 100
WHOLE = ("count", "rating")


@dataclass(frozen=True, slots=True)
class SideFields:
    """The fields of one side, for the template."""

    legend: str
    trials: list[tuple[BoundField, BoundField | None]]
    lever_arm: BoundField | None
    pain: BoundField | None


class PhysicalForm(forms.Form):
    """One test on one day, both sides at once; a side may be left out."""

    tested_on = iso_day(label="Day of the test", required=True)

    def __init__(
        self,
        data: Any = None,
        *,
        about: PhysicalTest,
        episode: Episode,
        on: date,
        unit: str = "",
    ) -> None:
        self.about, self.episode, self.on = about, episode, on
        first_unit = unit or units_of(about)[0]
        super().__init__(data, initial={"tested_on": on, "unit": first_unit})
        self._add_device_fields()
        for side in sides_of(about):
            self._add_side_fields(side)
        self.fields["done_how"] = forms.CharField(
            required=False, max_length=300, label="How it was done"
        )

    def _add_device_fields(self) -> None:
        """Add what both sides share: the unit, and the weight where torque counts."""
        if len(units_of(self.about)) > 1:
            self.fields["unit"] = forms.ChoiceField(
                choices=[(unit, unit) for unit in units_of(self.about)],
                widget=forms.RadioSelect,
                label="The device shows",
                error_messages={"required": "Choose what the device shows."},
            )
        if self.about.lever_arm:
            self.fields["body_kg"] = NumberField(
                label="Body weight, kg", help_text="For torque per kg of body weight."
            )

    def _add_side_fields(self, side: str) -> None:
        about = self.about
        for name, number in self.trial_names(side):
            what = f"Trial {number}" if about.trials.planned > 1 else about.unit
            self.fields[name] = self._number(side, what)
            if side:
                self.fields[f"{name}_stopped"] = forms.BooleanField(
                    required=False, label="Pain stopped it"
                )
        if about.lever_arm:
            self.fields[f"{side}_arm_cm"] = self._number(side, "Lever arm, cm")
        if asks_pain(about):
            self.fields[f"{side}_pain"] = RatingField(
                label=f"{side.capitalize()}, pain during"
            )

    def _number(self, side: str, what: str) -> NumberField:
        """Return a field whose label names its side, wherever it is read alone."""
        label = f"{side.capitalize()}, {what.lower()}" if side else what
        is_whole = self.about.quantity in WHOLE
        return NumberField(label=label, short=what.capitalize(), is_whole=is_whole)

    def trial_names(self, side: str) -> Iterator[tuple[str, int]]:
        """Yield the field name and number of each planned trial."""
        for number in range(1, self.about.trials.planned + 1):
            yield f"{side or 'person'}_{number}", number

    def side_fields(self) -> list[SideFields]:
        """Return the sides with their fields, left first."""
        return [
            SideFields(
                legend=side_name(side, index=self.episode.side) or "Result",
                trials=[
                    (self[name], self[f"{name}_stopped"] if side else None)
                    for name, _ in self.trial_names(side)
                ],
                lever_arm=self[f"{side}_arm_cm"] if self.about.lever_arm else None,
                pain=self[f"{side}_pain"] if asks_pain(self.about) else None,
            )
            for side in sides_of(self.about)
        ]

    def clean_tested_on(self) -> date:
        """Keep the day inside the episode and out of the future."""
        chosen: date = self.cleaned_data["tested_on"]
        opened, discharged = self.episode.opened_on, self.episode.discharged_on
        if chosen > self.on:
            raise ValidationError("This day is in the future; enter what was tested.")
        if chosen < opened:
            raise ValidationError(
                f"This case was opened on {day(opened)}; a test cannot be earlier."
            )
        if discharged and chosen > discharged:
            raise ValidationError(
                f"This case was discharged on {day(discharged)}; take the discharge "
                "back before entering a later test."
            )
        return chosen

    def clean(self) -> dict[str, Any]:
        """Hold trials to the test's range, and each side to one result a day."""
        super().clean()
        for side in sides_of(self.about):
            self._check_side(side)
        if self.about.lever_arm:
            self._check_within("body_kg", *BODY_KG, unit="kg")
        if not self.errors and not self._tested():
            name = next(self.trial_names(sides_of(self.about)[0]))[0]
            self.add_error(name, "Enter at least one trial of one side.")
        if "tested_on" in self.cleaned_data:
            self._refuse_second(self.cleaned_data["tested_on"])
        return self.cleaned_data

    def _check_side(self, side: str) -> None:
        about = self.about
        for name, _ in self.trial_names(side):
            self._check_trial(name)
            is_stopped = self.cleaned_data.get(f"{name}_stopped")
            if is_stopped and self._is_empty(name):
                self.add_error(
                    name,
                    "Write what was reached before the pain, or take the tick away.",
                )
        if arm := about.lever_arm:
            ends = (arm.low * CM_PER_M, arm.high * CM_PER_M)
            self._check_within(f"{side}_arm_cm", *ends, unit="cm")
        if not self._tested_side(side):
            self._refuse_lonely(side)

    def _refuse_lonely(self, side: str) -> None:
        """Refuse what was told about a side of which no trial is given."""
        for name in (f"{side}_arm_cm", f"{side}_pain"):
            has_trial_error = any(n in self.errors for n, _ in self.trial_names(side))
            if self.cleaned_data.get(name) is not None and not has_trial_error:
                self.add_error(name, f"No trial of the {side} side is entered.")

    def _check_trial(self, name: str) -> None:
        """Hold a trial to the test's range, which for a force is in N."""
        about, unit, typed = self.about, self.chosen_unit, self.cleaned_data.get(name)
        if typed is None:
            return
        if not about.low <= in_test_unit(about, typed, unit) <= about.high:
            one = in_test_unit(about, 1, unit)
            self._say_range(name, about.low / one, about.high / one, unit=unit)

    def _check_within(self, name: str, low: float, high: float, *, unit: str) -> None:
        value = self.cleaned_data.get(name)
        if value is not None and not low <= value <= high:
            self._say_range(name, low, high, unit=unit)

    def _say_range(self, name: str, low: float, high: float, *, unit: str) -> None:
        ends = [number_words(end, decimals=2) for end in (low, high)]
        self.add_error(
            name, f"This must be {ends[0]} to {ends[1]} {unit}. Check number and unit."
        )

    def _is_empty(self, name: str) -> bool:
        return self.cleaned_data.get(name) is None and name not in self.errors

    def _refuse_second(self, chosen: date) -> None:
        """Refuse a side that has a result for the day."""
        standing = PhysicalResult.objects.standing().filter(
            patient_id=self.episode.patient_id, test=self.about.key, tested_on=chosen
        )
        for row in standing:
            if self._tested_side(row.side):
                where = f"The {row.side} side" if row.side else "This test"
                self.add_error(
                    next(self.trial_names(row.side))[0],
                    f"{where} has a result for {day(chosen)} already: "
                    f"{result_words(self.about, row)}. Void that result first if it "
                    "is wrong, or leave this empty.",
                )

    @property
    def chosen_unit(self) -> str:
        """The unit that was chosen, or the only one."""
        return self.cleaned_data.get("unit") or units_of(self.about)[0]

    def _tested_side(self, side: str) -> bool:
        return any(
            self.cleaned_data.get(name) is not None
            for name, _ in self.trial_names(side)
        )

    def _tested(self) -> list[str]:
        return [side for side in sides_of(self.about) if self._tested_side(side)]

    def to_entry(self) -> PhysicalEntry:
        """Return what was entered; only after validation."""
        return PhysicalEntry(
            test=self.about.key,
            tested_on=self.cleaned_data["tested_on"],
            unit=self.chosen_unit,
            sides=tuple(self._side_entry(side) for side in self._tested()),
            body_kg=self.cleaned_data.get("body_kg"),
            done_how=self.cleaned_data["done_how"],
        )

    def _side_entry(self, side: str) -> SideEntry:
        given = self.cleaned_data
        arm_cm = given.get(f"{side}_arm_cm")
        return SideEntry(
            side=side,
            trials=tuple(
                Trial(given[name], given.get(f"{name}_stopped", False))
                for name, _ in self.trial_names(side)
                if given[name] is not None
            ),
            lever_arm_m=None if arm_cm is None else arm_cm / CM_PER_M,
            pain=given.get(f"{side}_pain"),
        )


def asks_pain(about: PhysicalTest) -> bool:
    """Tell whether pain is asked beside the result; a pain rating is one itself."""
    return about.takes is Takes.BOTH_SIDES and about.quantity != "rating"
