"""Forms for the flow-restriction screen, adverse events and other care."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django import forms

from clinic.models import Episode
from clinic.templatetags.clinic_format import day

from .dosing.flow_questions import AddedRisk, Contraindication, questions
from .dosing.flow_screen import Answer, Clearance
from .flow_answers import (
    NOTHING_CLEARED,
    PHYSICIAN,
    SAID,
    SAID_ON,
    STOPPED_ON,
    problems,
)
from .flow_answers import stopped_on_by_key as last_stops
from .lines import name_of
from .models import FlowScreen, OtherCare, Prescription

STILL_TO_COME = "This day is still to come."
WORDS_MAX = 2000  # project assumption: a paragraph or two
NO_YES = [(Answer.NO.value, "No"), (Answer.YES.value, "Yes")]
YES_CLEARED = [
    (Answer.YES.value, "Yes"),
    (Answer.CLEARED.value, "Yes, and a physician has cleared it"),
]
CLEARANCE_FIELDS = (PHYSICIAN, SAID, SAID_ON, STOPPED_ON)


@dataclass(frozen=True, slots=True)
class AskedQuestion:
    """One question on the page, with the last day of a yes, here and elsewhere."""

    item: Contraindication | AddedRisk
    field: forms.BoundField
    stopped_on: date | None
    elsewhere_on: date | None


class DayInput(forms.DateInput):
    """A day, with the browser's own picker where there is one."""

    input_type = "date"

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(format="%Y-%m-%d", **kwargs)


def day_within(value: date, *, case: Episode, on: date) -> date:
    """Return the day, or say why it cannot be one of this case."""
    if value > on:
        raise forms.ValidationError(STILL_TO_COME)
    if value < case.opened_on:
        raise forms.ValidationError(
            f"The episode was not open yet; it opened on {day(case.opened_on)}."
        )
    return value


class FlowScreenForm(forms.Form):
    """Every question of the screen; nothing is answered in advance.

    Where an earlier screen of the case was stopped, "no" gives way to "cleared".
    """

    decision = forms.CharField(
        required=False,
        max_length=WORDS_MAX,
        label="If a risk is added or cleared: what you decided, and why",
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    physician = forms.CharField(required=False, max_length=120, label="Physician")
    physician_answer = forms.CharField(
        required=False,
        max_length=WORDS_MAX,
        label="What the physician answered",
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    physician_answered_on = forms.DateField(
        required=False, label="Answered on", widget=DayInput
    )

    def __init__(
        self,
        *args: Any,
        stops: list[FlowScreen],
        elsewhere: Mapping[str, date],
        on: date,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.stops, self.elsewhere, self.on = stops, elsewhere, on
        self.stopped = last_stops(stops)
        for key, words in questions().asked.items():
            wrong = "Answer this question."
            self.fields[f"ask_{key}"] = forms.ChoiceField(
                label=words,
                choices=YES_CLEARED if key in self.stopped else NO_YES,
                widget=forms.RadioSelect,
                error_messages={"required": wrong, "invalid_choice": wrong},
            )
        self.fields[STOPPED_ON] = forms.TypedChoiceField(
            required=False,
            label="The screen that had stopped it",
            choices=[("", "Choose one"), *self._days_of_stops()],
            coerce=date.fromisoformat,
            empty_value=None,
        )
        if not stops:
            for name in CLEARANCE_FIELDS:
                del self.fields[name]
        self.order_fields([f"ask_{key}" for key in questions().keys])

    def _days_of_stops(self) -> list[tuple[str, str]]:
        days = dict.fromkeys(stop.answered_on for stop in self.stops)
        return [(on.isoformat(), day(on)) for on in days]

    def contraindications(self) -> list[AskedQuestion]:
        """Return each as it is asked, with the days on which it was a yes before."""
        return [self._asked(item) for item in questions().contraindications]

    def risks(self) -> list[AskedQuestion]:
        """Return each added risk as it is asked."""
        return [self._asked(item) for item in questions().risks]

    def _asked(self, item: Contraindication | AddedRisk) -> AskedQuestion:
        key = item.key
        return AskedQuestion(
            item, self[f"ask_{key}"], self.stopped.get(key), self.elsewhere.get(key)
        )

    def answers(self) -> dict[str, str]:
        """Return what was answered, by question."""
        return {key: self.cleaned_data[f"ask_{key}"] for key in questions().keys}

    def clearance(self) -> Clearance | None:
        """Return the physician's clearance; None where nothing of it was entered."""
        given = {name: self.cleaned_data.get(name) for name in CLEARANCE_FIELDS}
        if not all((given[SAID_ON], given[STOPPED_ON])):
            return None
        return Clearance(
            given[PHYSICIAN] or "",
            given[SAID] or "",
            given[SAID_ON],  # type: ignore[arg-type]
            given[STOPPED_ON],  # type: ignore[arg-type]
        )

    def clean(self) -> dict[str, Any]:
        """Hold the answers against earlier screens, and put each verdict in place."""
        entered = super().clean() or self.cleaned_data
        if self.errors:
            return entered
        answers, clearance = self.answers(), self.clearance()
        found = problems(answers, clearance=clearance, on=self.on, stops=self.stops)
        for name, sentence in found.items():
            is_given = clearance is None and entered.get(name)
            if not is_given:
                place = name if name in self.fields else f"ask_{name}"
                self.add_error(place, sentence)
        is_cleared = Answer.CLEARED in answers.values()
        if not is_cleared and not self.errors and self._is_clearance_begun():
            self.add_error(PHYSICIAN, NOTHING_CLEARED)
        return entered

    def _is_clearance_begun(self) -> bool:
        return any(self.cleaned_data.get(name) for name in CLEARANCE_FIELDS)


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
        help_text="It leaves the record's pages and stays on record, with your name.",
        error_messages={"required": "Say why, in a few words."},
    )
