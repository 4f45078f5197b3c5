"""Forms for a letter: its kind, its words, its reasons."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from django import forms

from clinic.day_field import DayInput, day_within
from clinic.models import Episode

from ..models import Letter
from .parts import Part, parts_of

MOST_PARTS = 20  # project assumption: a longer letter is not read


class NewLetterForm(forms.Form):
    """Which letter, and to whom."""

    kind = forms.ChoiceField(
        choices=Letter.Kind.choices, widget=forms.RadioSelect, label="Which letter"
    )
    addressed_to = forms.CharField(
        required=False,
        max_length=300,
        label="To whom",
        widget=forms.Textarea(attrs={"rows": 3, "class": "is-line", "dir": "auto"}),
        help_text="Name and address: a letter to the referrer is signed with them "
        "only. Left empty for the patient’s own summary.",
    )


class LetterForm(forms.Form):
    """To whom a draft goes, and of which day it is."""

    addressed_to = forms.CharField(
        required=False,
        max_length=300,
        label="To whom",
        widget=forms.Textarea(attrs={"rows": 3, "class": "is-line", "dir": "auto"}),
        help_text="Name and address; needed before it can be signed.",
    )
    written_on = forms.DateField(label="Date of the letter", widget=DayInput)

    def __init__(self, *args: Any, case: Episode, on: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.case, self.on = case, on

    def clean_written_on(self) -> date:
        """Refuse days to come and days before the episode."""
        return day_within(self.cleaned_data["written_on"], case=self.case, on=self.on)


class PartForm(forms.Form):
    """One headed part of a letter."""

    heading = forms.CharField(
        required=False,
        max_length=120,
        label="Heading",
        widget=forms.TextInput(attrs={"autocomplete": "off", "dir": "auto"}),
    )
    text = forms.CharField(
        required=False,
        max_length=6000,
        label="Text",
        widget=forms.Textarea(attrs={"rows": 4, "dir": "auto"}),
    )
    ask = forms.CharField(required=False, max_length=300, widget=forms.HiddenInput)
    is_removed = forms.BooleanField(required=False, label="Remove this part")

    @property
    def part(self) -> Part | None:
        """The part as typed; None where it was removed or nothing stands in it."""
        typed = self.cleaned_data
        heading, text = typed.get("heading", ""), typed.get("text", "").strip()
        if typed.get("is_removed") or not (heading or text):
            return None
        return Part(heading, text.replace("\r\n", "\n"), typed.get("ask", ""))

    @property
    def words(self) -> tuple[forms.BoundField, forms.BoundField]:
        """The two fields that are written in."""
        return self["heading"], self["text"]

    @property
    def asked(self) -> str:
        """What this part asks the clinician to write."""
        return str(self["ask"].value() or "")


PartForms = forms.formset_factory(
    PartForm, extra=1, max_num=MOST_PARTS, absolute_max=MOST_PARTS
)


def letter_form(
    sent: Any, letter: Letter, *, on: date
) -> tuple[LetterForm, forms.BaseFormSet[PartForm]]:
    """Return the form of a draft with one form for each part, and an empty one."""
    first = {"addressed_to": letter.addressed_to, "written_on": letter.written_on}
    form = LetterForm(sent, initial=first, case=letter.episode, on=on)
    parts = [
        {"heading": part.heading, "text": part.text, "ask": part.ask}
        for part in parts_of(letter)
    ]
    return form, PartForms(sent, initial=parts, prefix="parts")


def typed_parts(forms_of_parts: Iterable[PartForm]) -> list[Part]:
    """Return the parts that were typed, in their order; call when all are valid."""
    return [part for form in forms_of_parts if (part := form.part)]
