"""What a case should hold when it ends: its end measures, and its last day."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django import forms

from clinic.day_field import DayInput, day_within
from clinic.models import Episode
from clinic.templatetags.clinic_format import day

from .entries import last_entry_on
from .models import Assessment, PainScore
from .science.measures import measure

END_WITHIN_DAYS = 14  # project assumption: the fortnight that counts as "at the end"


@dataclass(frozen=True, slots=True)
class EndMeasure:
    """One measure that belongs to the end of care: when taken, if it was."""

    name: str
    value: float | None
    taken_on: date | None


def end_measures(case: Episode, *, on: date) -> tuple[EndMeasure, ...]:
    """Return primary measure, worst pain and rating of change near a day.

    Runs three queries. Which measures belong to the end: project assumption.
    """
    return (
        _assessed(case, case.primary_measure, on),
        _worst_pain(case, on),
        _assessed(case, "groc", on),
    )


def _assessed(case: Episode, key: str, on: date) -> EndMeasure:
    near = (
        Assessment.objects.standing()
        .of_episode(case)
        .filter(
            measure=key,
            score__isnull=False,
            assessed_on__range=(on - timedelta(days=END_WITHIN_DAYS), on),
        )
        .order_by("-assessed_on")
        .first()
    )
    name = measure(key).name
    return EndMeasure(name, near.score, near.assessed_on) if near else _absent(name)


def _worst_pain(case: Episode, on: date) -> EndMeasure:
    near = (
        PainScore.objects.standing()
        .filter(
            episode=case,
            worst__isnull=False,
            rated_on__range=(on - timedelta(days=END_WITHIN_DAYS), on),
        )
        .order_by("-rated_on")
        .first()
    )
    name = measure("pain_worst").name
    return EndMeasure(name, near.worst, near.rated_on) if near else _absent(name)


def _absent(name: str) -> EndMeasure:
    return EndMeasure(name, None, None)


class DischargeForm(forms.Form):
    """Why and when care ends; missing end measures need a reason."""

    reason = forms.ChoiceField(
        choices=Episode.Reason.choices, widget=forms.RadioSelect, label="Why care ends"
    )
    discharged_on = forms.DateField(label="Last day of care", widget=DayInput)
    is_without_measures = forms.BooleanField(
        required=False, label="The missing end measures could not be taken"
    )
    without_because = forms.CharField(
        required=False, max_length=200, label="They could not be taken, because"
    )
    note = forms.CharField(
        required=False,
        label="Note",
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="What the patient goes on with, and when to come back.",
    )

    def __init__(self, *args: Any, case: Episode, on: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.case, self.on = case, on
        self.fields["discharged_on"].initial = on
        self.measures = end_measures(case, on=on)

    @property
    def missing(self) -> list[str]:
        """Return the names of end measures that are not there."""
        return [one.name for one in self.measures if one.taken_on is None]

    def clean_discharged_on(self) -> date:
        """Refuse a last day that the record contradicts; look up its measures."""
        typed = self.cleaned_data["discharged_on"]
        ends_on = day_within(typed, case=self.case, on=self.on)
        last_on = last_entry_on(self.case)
        if last_on and ends_on < last_on:
            raise forms.ValidationError(
                f"The case holds an entry of {day(last_on)}, after that day."
            )
        self.measures = end_measures(self.case, on=ends_on)
        return ends_on

    def clean(self) -> dict[str, Any]:
        """Ask for the reason where measures are missing."""
        entered = super().clean() or self.cleaned_data
        if self.missing and not entered.get("is_without_measures"):
            self.add_error(
                "is_without_measures",
                f"Not there: {', '.join(self.missing)}. Log a visit with them first, "
                "or tick this and say why they could not be taken.",
            )
        elif self.missing and not entered.get("without_because"):
            self.add_error("without_because", "Say why they could not be taken.")
        return entered

    @property
    def details(self) -> dict[str, Any]:
        """Return what the act of discharging is told."""
        return {
            "on": self.cleaned_data["discharged_on"],
            "reason": self.cleaned_data["reason"],
            "note": self.full_note,
        }

    @property
    def full_note(self) -> str:
        """Return the note, with the reason for missing measures below it."""
        note: str = self.cleaned_data["note"].strip()
        if not self.missing:
            return note
        because = self.cleaned_data["without_because"]
        gap = f"Not taken at the end: {', '.join(self.missing)}. Reason: {because}"
        return f"{note}\n\n{gap}".strip()
