"""The choice of cases on the pages of the caseload review."""

from datetime import date, timedelta
from typing import Any

from django import forms
from django.http import QueryDict

from clinic.day_field import DayInput
from clinic.models import Side, Site

from .period_choice import BASELINE_BANDS, DURATIONS, Choice

# Two years: enough for a reference period and for what came after it.
DEFAULT_DAYS = 730
ALL = [("", "All")]


class PeriodForm(forms.Form):
    """When the cases opened, whose they are, and how they began."""

    opened_from = forms.DateField(label="Opened from", widget=DayInput)
    opened_until = forms.DateField(label="to", widget=DayInput)
    clinician = forms.TypedChoiceField(
        label="Clinician", required=False, coerce=int, empty_value=None
    )
    side = forms.ChoiceField(
        label="Knee", required=False, choices=[*ALL, *Side.choices]
    )
    duration = forms.ChoiceField(
        label="Symptoms for",
        required=False,
        choices=[*ALL, *((band, band) for band in DURATIONS)],
    )
    baseline = forms.ChoiceField(
        label="First score in the",
        required=False,
        choices=[*ALL, *((band, band) for band in BASELINE_BANDS)],
    )

    def __init__(self, sent: QueryDict, *, site: Site, on: date) -> None:
        self.first = {
            "opened_from": on - timedelta(days=DEFAULT_DAYS),
            "opened_until": on,
        }
        chosen = sent.copy()
        for name, value in self.first.items():
            chosen.setdefault(name, value.isoformat())
        super().__init__(chosen)
        people = site.people.filter(episodes__isnull=False).distinct()
        treating = sorted(people, key=str)
        field = self.fields["clinician"]
        field.choices = [  # type: ignore[attr-defined]
            *ALL,
            *((person.pk, str(person)) for person in treating),
        ]

    def clean(self) -> dict[str, Any]:
        """Refuse a period that ends before it begins."""
        chosen = super().clean() or self.cleaned_data
        first, last = chosen.get("opened_from"), chosen.get("opened_until")
        if first and last and last < first:
            self.add_error(
                "opened_until", "This day is before the first one; exchange the two."
            )
        return chosen

    @property
    def choice(self) -> Choice:
        """Return what was chosen; call only after the form was found valid."""
        chosen = self.cleaned_data
        return Choice(
            from_on=chosen["opened_from"],
            until_on=chosen["opened_until"],
            clinician=chosen["clinician"],
            side=chosen["side"],
            duration=chosen["duration"],
            baseline=chosen["baseline"],
        )

    @property
    def period(self) -> list[forms.BoundField]:
        """Return the two days alone, for a page about one's own cases."""
        return [self["opened_from"], self["opened_until"]]

    @property
    def narrower(self) -> list[str]:
        """Return in words what narrows the period, for a sheet without the form."""
        chosen = {name: self[name] for name in self.fields if not name.startswith("op")}
        return [
            f"{bound.label}: {dict(bound.field.choices)[self.cleaned_data[name]]}"  # type: ignore[attr-defined]
            for name, bound in chosen.items()
            if self.cleaned_data.get(name)
        ]

    @property
    def whole_clinic(self) -> Choice:
        """Return the chosen period for every case of the clinic."""
        chosen = self.choice
        return Choice(from_on=chosen.from_on, until_on=chosen.until_on)

    @property
    def query(self) -> str:
        """Return the choice as the query of a link; nothing in it names a patient."""
        typed = QueryDict(mutable=True)
        for name in self.fields:
            if value := self.data.get(name, ""):
                typed[name] = value
        return typed.urlencode()
