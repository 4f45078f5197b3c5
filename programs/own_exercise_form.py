"""The form for an entry of the clinic's own."""

from typing import Any

from django import forms

from clinic.models import User

from .library_entries import TARGETS
from .models import ClinicExercise


class OwnExerciseForm(forms.ModelForm):
    """An entry in the clinic's words; what speaks for it is asked, not assumed."""

    target = forms.ChoiceField(
        label="What it is for", choices=[(one, one.capitalize()) for one in TARGETS]
    )

    class Meta:
        model = ClinicExercise
        fields = (
            "name",
            "target",
            "is_weight_bearing",
            "is_bfr",
            "equipment",
            "how",
            "cautions",
            "source",
        )
        labels = {
            "is_weight_bearing": "The patient stands on the leg",
            "is_bfr": "It is done under a cuff (blood-flow restriction)",
            "how": "How it is done",
            "source": "What speaks for it",
        }
        help_texts = {
            "name": "Say what it is in plain words; no brand and no name of a person.",
            "how": "In plain words for the patient.",
            "source": "“Common practice” is an answer.",
            "is_bfr": "It then needs the same signed screen and the same ranges.",
        }

    def __init__(self, *args: Any, by: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.by = by

    def clean_name(self) -> str:
        """Refuse a name that the clinic has, whatever its capitals."""
        name: str = self.cleaned_data["name"]
        same = ClinicExercise.objects.for_user(self.by).filter(name__iexact=name)
        if same.exists():
            raise forms.ValidationError("The clinic has an entry of this name.")
        return name

    @property
    def details(self) -> dict[str, Any]:
        """Return the columns that the form holds."""
        return {name: self.cleaned_data[name] for name in self._meta.fields or ()}
