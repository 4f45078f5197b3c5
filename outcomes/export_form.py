"""What somebody has to say before an export for audit: to whom, why, until when."""

from typing import Any

from django import forms
from django.utils import timezone

from clinic.day_field import STILL_TO_COME, DayInput

from .exporting.beginning import Wanted
from .models import AuditExport


def longest(name: str) -> int:
    """Return how much fits into a column of AuditExport."""
    return AuditExport._meta.get_field(name).max_length or 0  # type: ignore[union-attr]


class ExportForm(forms.Form):
    """To whom, why, by what right, until when, and which stretch of time."""

    recipient = forms.CharField(
        label="Recipient",
        max_length=longest("recipient"),
        help_text="Who gets the file, by office or organisation.",
    )
    purpose = forms.CharField(
        label="Purpose",
        max_length=longest("purpose"),
        help_text="What they will find out with it.",
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    legal_basis = forms.CharField(
        label="Legal basis",
        max_length=longest("legal_basis"),
        help_text="The rule, agreement or approval that allows it, with its date.",
    )
    destroy_by_on = forms.DateField(
        label="They destroy it by",
        widget=DayInput,
        help_text="A day in the future, as agreed with the recipient.",
    )
    from_on = forms.DateField(label="Episodes opened from", widget=DayInput)
    until_on = forms.DateField(label="Episodes opened until", widget=DayInput)

    def clean_destroy_by_on(self) -> Any:
        """Ask for a day in the future."""
        day = self.cleaned_data["destroy_by_on"]
        if day <= timezone.localdate():
            raise forms.ValidationError("This day has to lie in the future.")
        return day

    def clean_until_on(self) -> Any:
        """Refuse a period that is not over."""
        day = self.cleaned_data["until_on"]
        if day > timezone.localdate():
            raise forms.ValidationError(STILL_TO_COME)
        return day

    def clean(self) -> dict[str, Any]:
        """Refuse a period that ends before it begins."""
        typed = super().clean() or self.cleaned_data
        first, last = typed.get("from_on"), typed.get("until_on")
        if first and last and last < first:
            words = "This day is before the first one; exchange the two."
            self.add_error("until_on", words)
        return typed

    @property
    def wanted(self) -> Wanted:
        """Return what was asked for; call only after the form was found valid."""
        return Wanted(**self.cleaned_data)

    @property
    def typed(self) -> dict[str, str]:
        """Return the cleaned values as texts, to fill the same form again."""
        return {name: str(value) for name, value in self.cleaned_data.items()}
