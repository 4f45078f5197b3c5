"""Forms for a programme and its phases."""

from datetime import date
from typing import Any

from django import forms

from clinic.day_field import STILL_TO_COME, DayInput, day_within
from clinic.models import Episode, Side

from .copying import Cuff
from .models import Phase, Prescription, Programme
from .planning import FIRST_PHASE

WHY = {
    "label": "Why",
    "max_length": 300,
    "help_text": "It stays on record beside the line, with your name.",
    "error_messages": {"required": "Say why, in a few words."},
}


def why_field(**changes: Any) -> forms.CharField:
    """Return the field that asks for the reason of a change."""
    lines = forms.Textarea(attrs={"rows": 2, "class": "is-line"})
    return forms.CharField(**{**WHY, "widget": lines, **changes})


class StartForm(forms.Form):
    """A programme from nothing."""

    title = forms.CharField(
        max_length=120,
        label="Title",
        help_text="For example: Hip and knee strength, back to stairs.",
    )
    aim = forms.CharField(
        required=False,
        label="Aim",
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="What the patient wants to be able to do.",
    )
    starts_on = forms.DateField(label="Starts on", widget=DayInput)
    first_phase = forms.CharField(
        max_length=120, label="First phase", initial=FIRST_PHASE
    )

    def __init__(self, *args: Any, case: Episode, on: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.case, self.on = case, on
        self.fields["starts_on"].initial = on

    def clean_starts_on(self) -> date:
        """Refuse days to come and days before the episode."""
        return day_within(self.cleaned_data["starts_on"], case=self.case, on=self.on)


class CopyForm(forms.Form):
    """A programme as a copy; a pressure only where a line needs one."""

    title = forms.CharField(max_length=120, label="Title")
    mmhg = forms.IntegerField(
        required=False,
        label="Occlusion pressure, mmHg",
        help_text="As measured on this limb; never estimated.",
    )
    side = forms.ChoiceField(
        required=False,
        label="Measured on",
        choices=[("", "Choose the leg"), ("left", "Left leg"), ("right", "Right leg")],
    )
    measured_on = forms.DateField(
        required=False, label="Measured on the day", widget=DayInput
    )
    percent = forms.IntegerField(
        required=False,
        label="Cuff pressure, % of it",
        help_text="40 to 80 per cent, unless the site allows less.",
    )
    is_leaving_out = forms.BooleanField(
        required=False,
        label="Copy without the lines that cannot be prescribed here",
        help_text="They are named afterwards, and stay on record as left out.",
    )

    def __init__(self, *args: Any, source: Programme, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["title"].initial = source.title

    @property
    def cuff(self) -> Cuff | None:
        """The measured pressure; None where nothing of it was typed."""
        typed = self.cleaned_data
        names = ("mmhg", "side", "measured_on", "percent")
        if not any(typed[name] for name in names):
            return None
        side = typed["side"] if typed["side"] in Side.values else ""
        return Cuff(
            mmhg=typed["mmhg"],
            side=side,
            measured_on=typed["measured_on"],
            percent=typed["percent"],
        )


class EndProgrammeForm(forms.Form):
    """The end of a programme; or that it was entered by mistake."""

    END, VOID = "end", "void"
    how = forms.ChoiceField(
        label="What happened",
        choices=[
            (END, "It ends: its lines stop on that day"),
            (VOID, "It was entered by mistake: withdraw it with its lines"),
        ],
        initial=END,
        widget=forms.RadioSelect,
    )
    ended_on = forms.DateField(required=False, label="Ends on", widget=DayInput)
    why = why_field(help_text="Nothing is deleted; it stays on record, with your name.")

    def __init__(
        self, *args: Any, programme: Programme, on: date, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.programme, self.on = programme, on
        self.fields["ended_on"].initial = on

    @property
    def is_void(self) -> bool:
        """Whether it is withdrawn rather than ended."""
        return self.cleaned_data["how"] == self.VOID

    def clean(self) -> dict[str, Any]:
        """Ask for the day of an end, between the start and today."""
        typed = super().clean() or self.cleaned_data
        if typed.get("how") != self.END or "ended_on" in self.errors:
            return typed
        ended_on, starts_on = typed.get("ended_on"), self.programme.starts_on
        if ended_on is None:
            self.add_error("ended_on", "On which day?")
        elif ended_on > self.on:
            self.add_error("ended_on", STILL_TO_COME)
        elif starts_on and ended_on < starts_on:
            self.add_error("ended_on", "It would end before it begins.")
        return typed


class WithdrawForm(forms.Form):
    """Why a programme or a template is withdrawn."""

    why = why_field(help_text="Nothing is deleted; it stays on record, with your name.")


class TemplateForm(forms.Form):
    """The title of a template that the whole site can copy."""

    title = forms.CharField(
        max_length=120,
        label="Title of the template",
        help_text="Colleagues of the site see it: no name of a person.",
    )


class PhaseForm(forms.ModelForm):
    """A phase: what it is for, and when; without a first day it waits."""

    class Meta:
        model = Phase
        fields = ("title", "aim", "starts_on", "ends_on")
        labels = {"starts_on": "Begins on", "ends_on": "Ends on"}
        help_texts = {
            "title": "For example: Settle, Build strength, Back to running.",
            "starts_on": "Leave empty for a phase to come; its lines wait with it.",
            "ends_on": "Lines go on until they are stopped, each with its reason.",
        }
        widgets = {
            "starts_on": DayInput,
            "ends_on": DayInput,
            "aim": forms.Textarea(attrs={"rows": 2}),
        }

    def __init__(
        self, *args: Any, programme: Programme, on: date, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.programme, self.on = programme, on
        self.was_begun = self.instance.starts_on is not None

    def clean(self) -> dict[str, Any]:
        """Hold the days against each other and against the programme."""
        typed = super().clean() or self.cleaned_data
        begins, ends = typed.get("starts_on"), typed.get("ends_on")
        first_on = self.programme.starts_on
        if begins and first_on and begins < first_on:
            self.add_error("starts_on", "The programme had not begun yet.")
        if begins and begins > self.on:
            self.add_error("starts_on", "Leave it empty until the phase begins.")
        if not begins and self.was_begun and "starts_on" not in self.errors:
            self.add_error("starts_on", "This phase has begun: when?")
        if ends and not begins:
            self.add_error("ends_on", "A phase that has not begun cannot end.")
        elif ends and begins and ends < begins:
            self.add_error("ends_on", "It would end before it begins.")
        return typed

    @property
    def details(self) -> dict[str, Any]:
        """Return the columns that the form holds."""
        return {name: self.cleaned_data[name] for name in self._meta.fields or ()}


class StopForm(forms.Form):
    """The day from which a line is no longer done, and why."""

    stops_on = forms.DateField(label="Stops on", widget=DayInput)
    why = why_field()

    def __init__(self, *args: Any, line: Prescription, on: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.line, self.on = line, on
        self.fields["stops_on"].initial = on

    def clean_stops_on(self) -> date:
        """Refuse days to come and days before the line began, if it has begun."""
        stops_on: date = self.cleaned_data["stops_on"]
        starts_on = self.line.starts_on
        if stops_on > self.on:
            raise forms.ValidationError(STILL_TO_COME)
        if starts_on and stops_on < starts_on <= self.on:
            raise forms.ValidationError("The line would stop before it began.")
        return stops_on
