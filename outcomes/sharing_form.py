"""The form for what a person wishes about the use of their data for audit."""

from datetime import date
from typing import Any

from django import forms

from clinic import sharing
from clinic.day_field import DayInput
from clinic.models import Patient, User

DECLINES, ALLOWS = "declines", "allows"


class SharingForm(forms.Form):
    """What the person wishes, and when and how they told the clinic."""

    wish = forms.ChoiceField(
        choices=[
            (DECLINES, "Do not use their data for audit"),
            (ALLOWS, "Their data may be used for audit"),
        ],
        widget=forms.RadioSelect,
        label="What the person wishes",
    )
    told_on = forms.DateField(widget=DayInput, label="Told us on")
    told_how = forms.ChoiceField(
        choices=Patient.Told.choices, widget=forms.RadioSelect, label="How we know"
    )

    def __init__(self, *args: Any, patient: Patient, on: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.patient = patient
        if patient.audit_declined_on is None:
            self.fields["wish"].initial = DECLINES
        self.fields["told_on"].initial = on

    def clean_told_on(self) -> date:
        """Refuse days to come and days before the person was born."""
        told_on: date = self.cleaned_data["told_on"]
        if refusal := sharing.wrong_day(self.patient, told_on):
            raise forms.ValidationError(refusal)
        return told_on

    def clean(self) -> dict[str, Any]:
        """Refuse to take back what was never refused, or was refused later."""
        entered = super().clean() or self.cleaned_data
        told_on = entered.get("told_on")
        if entered.get("wish") == ALLOWS and told_on:
            if refusal := sharing.wrong_to_allow(self.patient, told_on):
                field = "told_on" if self.patient.audit_declined_on else "wish"
                self.add_error(field, refusal)
        return entered

    def keep(self, *, by: User) -> None:
        """Put the wish on record."""
        entered = self.cleaned_data
        is_refusal = entered["wish"] == DECLINES
        act = sharing.decline_audit if is_refusal else sharing.allow_audit
        act(self.patient, by=by, on=entered["told_on"], how=entered["told_how"])
