"""The form of the flow-restriction screen: every question, clearance, decision."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django import forms

from clinic.day_field import DayInput
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
from .models import FlowScreen
from .safety_forms import WORDS_MAX

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

    def cleared_by(self) -> list[forms.BoundField]:
        """Return the four parts of a clearance, in the order of asking."""
        order = (STOPPED_ON, PHYSICIAN, SAID_ON, SAID)
        return [self[name] for name in order if name in self.fields]

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
