"""The red-flag questions on the visit form: yes or no, and no answer beforehand."""

from typing import Any

from django import forms
from django.db import models

from clinic import screening
from clinic.models import Screen
from clinic.screening import Concern


class Answer(models.TextChoices):
    """The two answers to a red-flag question."""

    NO = "no", "No"
    YES = "yes", "Yes"


class ScreenForm(forms.Form):
    """A short or full screen; a yes asks for a decision in words, now or later."""

    decision = forms.CharField(
        required=False,
        max_length=2000,
        label="Your decision, in words",
        widget=forms.Textarea(attrs={"rows": 3}),
    )

    def __init__(self, data: Any = None, *, kind: str, age: int) -> None:
        self.kind, self.concerns = kind, screening.questions(kind, age=age)
        super().__init__(data, prefix="screen")
        for concern in self.concerns:
            self.fields[concern.key] = forms.ChoiceField(
                choices=Answer.choices, required=False, label=concern.ask
            )

    @property
    def is_full(self) -> bool:
        """Whether the full screen is asked."""
        return self.kind == Screen.Form.FULL

    def questions(self) -> list[tuple[Concern, forms.BoundField]]:
        """Return each concern with its field, for the template."""
        return [(concern, self[concern.key]) for concern in self.concerns]

    def answers(self) -> dict[str, bool]:
        """Return what was answered; only after validation."""
        given = {c.key: self.cleaned_data.get(c.key) for c in self.concerns}
        return {key: answer == Answer.YES for key, answer in given.items() if answer}

    def require_all(self) -> None:
        """Add an error to every question without an answer."""
        for concern in self.concerns:
            if (
                not self.cleaned_data.get(concern.key)
                and concern.key not in self.errors
            ):
                self.add_error(concern.key, "Answer yes or no.")
        if self.cleaned_data.get("decision") and not any(self.answers().values()):
            self.add_error(
                "decision",
                "A decision belongs to a yes, and no question was answered with yes.",
            )

    @property
    def is_touched(self) -> bool:
        """Whether anything was answered or written; only after validation."""
        return bool(self.answers() or self.cleaned_data.get("decision"))
