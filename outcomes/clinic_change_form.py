"""The form for a change in the clinic."""

from datetime import date
from typing import Any

from django import forms

from clinic.day_field import STILL_TO_COME, DayInput
from clinic.models import Site, User

from .clinic_changes import note_change


class ClinicChangeForm(forms.Form):
    """What changed, and from which day on."""

    happened_on = forms.DateField(
        widget=DayInput,
        label="From",
        error_messages={"required": "Say from which day on."},
    )
    words = forms.CharField(
        max_length=120,
        label="What changed",
        help_text="Such as a new form, other opening hours, or a course that all "
        "took. It stands on the figures and on printed reports: name no patient and "
        "no colleague.",
        error_messages={"required": "Say in a few words what changed."},
    )

    def __init__(self, *args: Any, on: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.on = on
        self.fields["happened_on"].initial = on

    def clean_happened_on(self) -> date:
        """Refuse a day to come: what is only planned has changed nothing yet."""
        happened_on: date = self.cleaned_data["happened_on"]
        if happened_on > self.on:
            raise forms.ValidationError(STILL_TO_COME)
        return happened_on

    def keep(self, *, site: Site, by: User) -> None:
        """Put the change on record."""
        entered = self.cleaned_data
        note_change(
            site=site, by=by, happened_on=entered["happened_on"], words=entered["words"]
        )
