"""Forms for adverse events and other care, and for taking something back."""

from datetime import date
from typing import Any

from django import forms

from clinic.day_field import STILL_TO_COME, DayInput, day_within
from clinic.models import Episode
from clinic.templatetags.clinic_format import day

from .lines import name_of
from .models import OtherCare, Prescription

WORDS_MAX = 2000  # project assumption: a paragraph or two


class LineField(forms.ModelChoiceField):
    """A line of the programme, shown by its exercise and its first day."""

    def label_from_instance(self, obj: Any) -> str:
        """Return the name of the exercise and when the line began."""
        began = f", from {day(obj.starts_on)}" if obj.starts_on else ""
        return f"{name_of(obj)}{began}"


class EventForm(forms.Form):
    """What went wrong, when, in which exercise, and what was done."""

    happened_on = forms.DateField(label="When it happened", widget=DayInput)
    is_during_flow_restriction = forms.TypedChoiceField(
        label="During or after exercise with blood-flow restriction",
        choices=[("no", "No"), ("yes", "Yes")],
        coerce=lambda typed: typed == "yes",
        widget=forms.RadioSelect,
        error_messages={"required": "Answer yes or no."},
    )
    prescription = LineField(
        queryset=Prescription.objects.none(),
        required=False,
        label="In which line of the programme",
        empty_label="None of them, or not known",
    )
    what = forms.CharField(
        max_length=WORDS_MAX,
        label="What happened",
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    done = forms.CharField(
        max_length=WORDS_MAX,
        label="What was done about it, and who was told",
        widget=forms.Textarea(attrs={"rows": 3}),
    )

    def __init__(self, *args: Any, case: Episode, on: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.case, self.on = case, on
        self.fields["happened_on"].initial = on
        lines = Prescription.objects.standing().filter(
            phase__programme__episode=case, phase__programme__voided_at__isnull=True
        )
        self.fields["prescription"].queryset = lines.select_related(  # type: ignore[attr-defined]
            "clinic_exercise"
        ).order_by("-prescribed_at")

    def clean_happened_on(self) -> date:
        """Refuse days to come and days before the episode."""
        return day_within(self.cleaned_data["happened_on"], case=self.case, on=self.on)


class OtherCareForm(forms.ModelForm):
    """Care outside the programme: what, from when, until when, in words."""

    what = forms.ChoiceField(
        label="What it was", choices=OtherCare.What.choices, widget=forms.RadioSelect
    )

    class Meta:
        model = OtherCare
        fields = ("what", "began_on", "ended_on", "words")
        labels = {
            "began_on": "Began on",
            "ended_on": "Ended on",
            "words": "In words",
        }
        help_texts = {
            "began_on": "For something done once, its day.",
            "ended_on": "Empty while it goes on.",
            "words": "What, where, how much, by whom.",
        }
        widgets = {"began_on": DayInput, "ended_on": DayInput}

    def __init__(self, *args: Any, case: Episode, on: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.case, self.on = case, on

    def clean_began_on(self) -> date:
        """Refuse days to come and days before the episode."""
        return day_within(self.cleaned_data["began_on"], case=self.case, on=self.on)

    def clean_ended_on(self) -> date | None:
        """Refuse a last day that is to come or before the first."""
        ended_on: date | None = self.cleaned_data["ended_on"]
        began_on = self.cleaned_data.get("began_on")
        if ended_on and began_on and ended_on < began_on:
            raise forms.ValidationError("It would end before it begins.")
        return day_within(ended_on, case=self.case, on=self.on) if ended_on else None


class EndForm(forms.Form):
    """The last day of other care."""

    ended_on = forms.DateField(label="Ended on", widget=DayInput)

    def __init__(self, *args: Any, care: OtherCare, on: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.care, self.on = care, on
        self.fields["ended_on"].initial = on

    def clean_ended_on(self) -> date:
        """Refuse a last day that is to come or before the first."""
        ended_on: date = self.cleaned_data["ended_on"]
        if ended_on > self.on:
            raise forms.ValidationError(STILL_TO_COME)
        if ended_on < self.care.began_on:
            raise forms.ValidationError("It would end before it begins.")
        return ended_on


class WhyForm(forms.Form):
    """A reason in words, for taking something back."""

    why = forms.CharField(
        max_length=300,
        label="Why",
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Your name stays beside it.",
        error_messages={"required": "Say why, in a few words."},
    )
