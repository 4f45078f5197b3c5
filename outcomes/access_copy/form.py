"""What is asked before a record is copied for the person."""

from datetime import date
from typing import Any

from django import forms

from clinic.day_field import STILL_TO_COME, DayInput

from .giving import AccessRequest


class AccessForm(forms.Form):
    """Who asked, when, how they were known, and how the copy goes out."""

    PERSON, REPRESENTATIVE = "person", "representative"
    asked_on = forms.DateField(label="Asked on", widget=DayInput)
    asked_by = forms.ChoiceField(
        label="Who asked",
        choices=[
            (PERSON, "The person"),
            (REPRESENTATIVE, "Somebody who acts for the person"),
        ],
        initial=PERSON,
        widget=forms.RadioSelect,
    )
    representative = forms.CharField(
        required=False,
        max_length=200,
        label="Name of who acts for the person",
    )
    authority = forms.CharField(
        required=False,
        max_length=300,
        label="What they may act on",
        help_text="For example: parent, court order, written consent, seen on a day.",
    )
    identity = forms.CharField(
        max_length=300,
        label="How the clinic knows who asked",
        help_text="What was looked at, not its number.",
        error_messages={"required": "Say how it was checked."},
    )
    sent_how = forms.CharField(
        max_length=300,
        label="How the copy goes out",
        help_text="For example: handed over on paper, through the clinic’s portal.",
        error_messages={"required": "Say how it goes out."},
    )

    def __init__(self, *args: Any, on: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.on = on
        self.fields["asked_on"].initial = on

    def clean_asked_on(self) -> date:
        """Refuse days to come."""
        asked_on: date = self.cleaned_data["asked_on"]
        if asked_on > self.on:
            raise forms.ValidationError(STILL_TO_COME)
        return asked_on

    def clean(self) -> dict[str, Any]:
        """Ask for name and authority of a representative, and for neither otherwise."""
        typed = super().clean() or self.cleaned_data
        if typed.get("asked_by") != self.REPRESENTATIVE:
            typed["representative"] = typed["authority"] = ""
            return typed
        if not typed.get("representative"):
            self.add_error("representative", "Who acts for the person?")
        if not typed.get("authority"):
            self.add_error("authority", "On what authority?")
        return typed

    @property
    def asked(self) -> AccessRequest:
        """The request as it goes on record."""
        return AccessRequest(**self.cleaned_data)
