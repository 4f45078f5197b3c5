"""The form for a person in care."""

from datetime import date
from typing import Any

from django import forms

from clinic.day_field import STILL_TO_COME, DayInput
from clinic.models import Patient, User
from clinic.screening import age_on

OLDEST_YEARS = 120  # project assumption: more is a slip of the pen
DETAILS_OF_PERSON = (
    "record_number",
    "family_name",
    "given_name",
    "birth_date",
    "sex",
)


class PatientForm(forms.ModelForm):
    """A person in care, known by the clinic's own record number."""

    sex = forms.ChoiceField(choices=Patient.Sex.choices, widget=forms.RadioSelect)
    is_another_person = forms.BooleanField(
        required=False, label="This is another person of the same name and birth date"
    )

    class Meta:
        model = Patient
        fields = DETAILS_OF_PERSON
        labels = {"birth_date": "Date of birth"}
        widgets = {"birth_date": DayInput}
        help_texts = {"record_number": "The clinic's own number for this person."}

    def __init__(self, *args: Any, by: User, on: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.others = Patient.objects.for_user(by).exclude(pk=self.instance.pk)
        self.on = on
        self.same_number: Patient | None = None
        self.same_person: list[Patient] = []
        for name in DETAILS_OF_PERSON if self.instance.pk else ():
            # Sends along what was shown, so that only what was changed is saved.
            self.fields[name].show_hidden_initial = True

    def clean_record_number(self) -> str:
        """Refuse a number that another person of the site has."""
        number: str = self.cleaned_data["record_number"]
        self.same_number = self.others.filter(record_number__iexact=number).first()
        if self.same_number:
            raise forms.ValidationError(
                f"The number {number} belongs to {self.same_number} already."
            )
        return number

    def clean_birth_date(self) -> date:
        """Refuse days that nobody in care was born on."""
        born: date = self.cleaned_data["birth_date"]
        if born > self.on:
            raise forms.ValidationError(STILL_TO_COME)
        if age_on(born, self.on) > OLDEST_YEARS:
            raise forms.ValidationError(
                f"This is more than {OLDEST_YEARS} years ago. Check the year."
            )
        return born

    def clean(self) -> dict[str, Any]:
        """Ask back where the same person seems to be there already."""
        entered = super().clean() or self.cleaned_data
        name, born = entered.get("family_name"), entered.get("birth_date")
        if self.same_number or not name or not born:
            return entered
        self.same_person = list(
            self.others.filter(family_name__iexact=name, birth_date=born)
        )
        if self.same_person and not entered.get("is_another_person"):
            self.add_error(
                "is_another_person",
                "Somebody of this family name and birth date is there already. "
                "Open their page, or tick this and save again.",
            )
        return entered

    @property
    def details(self) -> dict[str, Any]:
        """Return the columns of a new person."""
        return {name: self.cleaned_data[name] for name in DETAILS_OF_PERSON}

    @property
    def changes(self) -> dict[str, Any]:
        """Return the columns that were changed on the page."""
        changed = set(self.changed_data)
        return {name: v for name, v in self.details.items() if name in changed}
