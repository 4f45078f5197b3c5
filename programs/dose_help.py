"""Work out a load: 1RM from a set of a few repetitions, and the load of a share."""

from dataclasses import dataclass
from typing import Any

from django import forms

from .dosing.limits import DosingPolicy
from .dosing.loading import Plates, TargetLoad, target_load
from .dosing.no_estimate import NoEstimate
from .dosing.repetition_maximum import (
    FORMULAS,
    Ending,
    RepetitionMaximum,
    estimate_maximum,
)
from .prescription_form import number, whole

ENDINGS = (
    (Ending.NEAR_FAILURE, "At or near failure: no more good repetition was left"),
    (Ending.IN_RESERVE, "With repetitions left in hand"),
    (Ending.PAIN, "Pain stopped it"),
)
USUAL_STEP_KG = 2.5  # project assumption; the field can be changed


@dataclass(frozen=True, slots=True)
class FormulaRow:
    """One formula as it is shown."""

    name: str
    written: str
    kg: float
    is_chosen: bool


@dataclass(frozen=True, slots=True)
class WorkedOut:
    """What the set gives: an estimate with its spread, a target, or why not."""

    maximum: RepetitionMaximum | None
    refusal: str
    target: TargetLoad | None
    target_refusal: str

    @property
    def formulas(self) -> list[FormulaRow]:
        """Every formula, so that the spread between them is seen."""
        if self.maximum is None:
            return []
        chosen = self.maximum.chosen.key
        return [
            FormulaRow(one.name, FORMULAS[one.key].written, one.kg, one.key == chosen)
            for one in self.maximum.estimates
        ]


class DoseHelpForm(forms.Form):
    """A set as it was done, and the share that is wanted of its maximum."""

    ending = forms.ChoiceField(
        label="How the set ended", choices=ENDINGS, widget=forms.RadioSelect
    )
    load_kg = number("Load of the set, kg")
    repetitions = whole("Repetitions done")
    percent = number("Wanted, % of 1RM")
    plate_step_kg = number("Smallest step of the load, kg")
    empty_kg = number("Weight of the empty equipment, kg")

    def __init__(
        self,
        *args: Any,
        policy: DosingPolicy,
        is_highly_irritable: bool,
        **kwargs: Any,
    ) -> None:
        kwargs.setdefault("prefix", "set")
        super().__init__(*args, **kwargs)
        self.policy, self.is_highly_irritable = policy, is_highly_irritable
        self.fields["plate_step_kg"].initial = USUAL_STEP_KG
        for field in self.fields.values():
            # On the form of a line the fields stand inside another form.
            field.widget.attrs["form"] = "dose-help-form"

    def clean(self) -> dict[str, Any]:
        """Put each reason at its field; how a set ended is an answer, not an error."""
        typed = super().clean() or self.cleaned_data
        self.found: WorkedOut | None = None
        if self.errors:
            return typed
        maximum = self._maximum()
        if isinstance(maximum, NoEstimate):
            if maximum.field != "ending":
                self.add_error(maximum.field, maximum.reason)
            self.found = WorkedOut(None, maximum.reason, None, "")
            return typed
        self.found = self._with_target(maximum)
        return typed

    def _maximum(self) -> RepetitionMaximum | NoEstimate:
        return estimate_maximum(
            load_kg=self.cleaned_data["load_kg"],
            repetitions=self.cleaned_data["repetitions"],
            ending=Ending(self.cleaned_data["ending"]),
            is_highly_irritable=self.is_highly_irritable,
            policy=self.policy,
        )

    def _with_target(self, maximum: RepetitionMaximum) -> WorkedOut:
        percent = self.cleaned_data["percent"]
        if percent is None:
            return WorkedOut(maximum, "", None, "")
        step = self.cleaned_data["plate_step_kg"] or USUAL_STEP_KG
        empty = self.cleaned_data["empty_kg"] or 0.0
        target = target_load(
            one_rm_kg=maximum.chosen.kg,
            percent=percent,
            plates=Plates(step, empty),
            policy=self.policy,
        )
        if isinstance(target, TargetLoad):
            return WorkedOut(maximum, "", target, "")
        name = {"step_kg": "plate_step_kg"}.get(target.field, target.field)
        self.add_error(name if name in self.fields else None, target.reason)
        return WorkedOut(maximum, "", None, target.reason)
