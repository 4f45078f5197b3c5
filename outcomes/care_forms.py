"""Forms for who treats a case, and for reaching its patient."""

from datetime import date, timedelta
from typing import Any

from django import forms
from django.db.models import QuerySet

from clinic.day_field import DayInput, day_within
from clinic.models import ContactAttempt, Episode, User
from clinic.templatetags.clinic_format import day

# Project assumption: a longer absence is a hand-over, or cover arranged anew.
COVER_WEEKS = 26


class CoverForm(forms.Form):
    """Who treats the case between two days, both included."""

    covered_by = forms.ModelChoiceField(
        queryset=User.objects.none(), label="Who covers", empty_label=None
    )
    from_on = forms.DateField(label="From", widget=DayInput)
    until_on = forms.DateField(label="Until, that day included", widget=DayInput)
    reason = forms.CharField(
        max_length=200, label="Reason", help_text="For example: leave, illness, a swap."
    )

    def __init__(
        self,
        *args: Any,
        case: Episode,
        people: QuerySet[User],
        on: date,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.case, self.on = case, on
        self.fields["covered_by"].queryset = people  # type: ignore[attr-defined]
        self.fields["from_on"].initial = on

    def clean_until_on(self) -> date:
        """Refuse a cover that is over already, or reaches too far ahead."""
        until_on: date = self.cleaned_data["until_on"]
        if until_on < self.on:
            raise forms.ValidationError("This day is over.")
        last_on = self.on + timedelta(weeks=COVER_WEEKS)
        if until_on > last_on:
            raise forms.ValidationError(
                f"Cover reaches at most {COVER_WEEKS} weeks ahead, to {day(last_on)} "
                "(project assumption). Choose an earlier day, or hand the case over."
            )
        return until_on

    def clean(self) -> dict[str, Any]:
        """Hold the days against each other and against cover that stands."""
        entered = super().clean() or self.cleaned_data
        from_on, until_on = entered.get("from_on"), entered.get("until_on")
        if not from_on or not until_on:
            return entered
        if until_on < from_on:
            self.add_error("until_on", "The cover would end before it begins.")
        elif person := entered.get("covered_by"):
            self._refuse_double(person, from_on, until_on)
        return entered

    def _refuse_double(self, person: User, from_on: date, until_on: date) -> None:
        standing = self.case.covers.filter(
            covered_by=person,
            ended_at__isnull=True,
            from_on__lte=until_on,
            until_on__gte=from_on,
        )
        if standing.exists():
            self.add_error("covered_by", f"{person} covers this case already then.")


class HandOverForm(forms.Form):
    """Who is responsible for the case from now on."""

    to = forms.ModelChoiceField(queryset=User.objects.none(), label="Hand over to")
    reason = forms.CharField(max_length=200, label="Reason")

    def __init__(self, *args: Any, people: QuerySet[User], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["to"].queryset = people  # type: ignore[attr-defined]


class ContactForm(forms.ModelForm):
    """One try to reach the patient."""

    way = forms.ChoiceField(
        choices=ContactAttempt.Way.choices, widget=forms.RadioSelect, label="How"
    )
    result = forms.ChoiceField(
        choices=ContactAttempt.Result.choices,
        widget=forms.RadioSelect,
        label="What came of it",
    )

    class Meta:
        model = ContactAttempt
        fields = ("tried_on", "way", "result", "note")
        labels = {"tried_on": "Tried on"}
        widgets = {"tried_on": DayInput}

    def __init__(self, *args: Any, case: Episode, on: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.case, self.on = case, on
        self.fields["tried_on"].initial = on

    def clean_tried_on(self) -> date:
        """Refuse days to come and days before the episode."""
        return day_within(self.cleaned_data["tried_on"], case=self.case, on=self.on)


class WhyForm(forms.Form):
    """A reason in words, for taking something back."""

    why = forms.CharField(
        max_length=300, label="Why", widget=forms.Textarea(attrs={"rows": 2})
    )
