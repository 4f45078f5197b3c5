"""Forms for the red-flag screen: every question answered, and the decision in words."""

from typing import Any

from django import forms

from clinic.screening import Concern, questions

DECISION_MAX = 2000  # project assumption: a paragraph or two

Asked = tuple[Concern, forms.BoundField]


class ScreenForm(forms.Form):
    """One form of the screen; nothing is answered in advance and nothing optional."""

    decision = forms.CharField(
        required=False,
        max_length=DECISION_MAX,
        label="If any answer is yes: what you decided",
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="In words: what you found, whom you told, where the patient goes.",
    )

    def __init__(self, *args: Any, asked: str, age: int, **kwargs: Any) -> None:
        super().__init__(*args, **{"prefix": "screen", **kwargs})
        self.age = age
        self.concerns = questions(asked, age=age)
        for concern in self.concerns:
            self.fields[concern.key] = forms.ChoiceField(
                label=concern.ask,
                choices=[("no", "No"), ("yes", "Yes")],
                widget=forms.RadioSelect,
                error_messages={"required": "Answer yes or no."},
            )
        self.order_fields([concern.key for concern in self.concerns])

    def asked(self) -> list[Asked]:
        """Return every question with its field, in the order of asking."""
        return [(concern, self[concern.key]) for concern in self.concerns]

    def answers(self) -> dict[str, bool]:
        """Return what was answered, by concern."""
        return {c.key: self.cleaned_data[c.key] == "yes" for c in self.concerns}


class DecisionForm(forms.Form):
    """The decision on a positive answer."""

    decision = forms.CharField(
        max_length=DECISION_MAX,
        label="What you decided",
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text="In words: what you found, whom you told, where the patient goes, "
        "and whether loading goes on meanwhile.",
    )
