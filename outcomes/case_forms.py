"""Forms for an episode of care."""

from datetime import date
from typing import Any

from django import forms
from django.db.models import Q

from clinic.admitting import earlier_episode
from clinic.day_field import STILL_TO_COME, DayInput
from clinic.leaving import who_treats
from clinic.models import Episode, Patient, Side, User
from clinic.screening import age_on
from clinic.sourced.policy_numbers import PolicyError
from clinic.templatetags.clinic_format import day, yes_no

from .differences import Difference
from .science.measures import PRIMARY_KEYS, measure
from .science.policy import StallPolicy

DETAILS_OF_EPISODE = (
    "side",
    "is_bilateral",
    "symptom_onset_on",
    "opened_on",
    "activity_level",
    "sport",
    "goals",
    "provoked_by",
    "pain_when_provoked",
    "settles_in",
    "irritability",
    "primary_measure",
    "schedule_weeks",
)


def clash_of(
    *,
    patient: Patient,
    side: str,
    from_on: date,
    until_on: date | None,
    but: int | None = None,
) -> Episode | None:
    """Return another episode of the knee that shares days with these; one query."""
    others = patient.episodes.standing().filter(side=side).exclude(pk=but)
    sharing = others.filter(
        Q(discharged_on__isnull=True) | Q(discharged_on__gt=from_on)
    )
    if until_on:
        sharing = sharing.filter(opened_on__lt=until_on)
    return sharing.order_by("-opened_on").first()


class EpisodeDetailsForm(forms.ModelForm):
    """What an episode says of one knee; the form for editing it."""

    side = forms.ChoiceField(
        choices=Side.choices, widget=forms.RadioSelect, label="Index knee"
    )
    primary_measure = forms.ChoiceField(
        choices=[(key, measure(key).name) for key in PRIMARY_KEYS],
        initial="akps",
        help_text="Decides what change is judged by; asked again at each re-measure.",
    )
    pain_when_provoked = forms.TypedChoiceField(
        choices=[(point, point) for point in range(11)],
        coerce=int,
        empty_value=None,
        required=False,
        widget=forms.RadioSelect,
        label="How bad the pain gets then",
    )
    schedule_weeks = forms.CharField(
        required=False,
        label="Re-measure in weeks after opening",
        widget=forms.TextInput(attrs={"inputmode": "text", "autocomplete": "off"}),
    )

    class Meta:
        model = Episode
        fields: tuple[str, ...] = DETAILS_OF_EPISODE
        labels = {
            "is_bilateral": "The other knee hurts as well",
            "symptom_onset_on": "Symptoms began on",
            "opened_on": "Episode opens on",
            "provoked_by": "What it takes to provoke the knee",
            "settles_in": "How long it takes to settle",
            "irritability": "Irritability, as you judge it",
        }
        help_texts = {
            "symptom_onset_on": "The best known day; the first of a month will do.",
            "sport": "Sport or activity that matters most.",
            "goals": "In the patient's own words.",
        }
        widgets = {"symptom_onset_on": DayInput, "opened_on": DayInput}

    def __init__(
        self,
        *args: Any,
        patient: Patient,
        policy: StallPolicy,
        on: date,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.patient, self.policy, self.on = patient, policy, on
        self.clash: Episode | None = None
        site_weeks = ", ".join(map(str, policy.schedule_weeks))
        self.fields["schedule_weeks"].help_text = (
            f"Leave empty for the clinic's own: {site_weeks}, then every "
            f"{policy.then_every_weeks} weeks."
        )
        own_weeks = self.instance.schedule_weeks
        self.initial["schedule_weeks"] = ", ".join(map(str, own_weeks))
        for name in ("activity_level", "provoked_by", "settles_in", "irritability"):
            choices = self.fields[name].choices  # type: ignore[attr-defined]
            self.fields[name].choices = [("", "Not recorded"), *choices[1:]]  # type: ignore[attr-defined]

    @property
    def age(self) -> int:
        """Return the patient's age today, in years."""
        return age_on(self.patient.birth_date, self.on)

    @property
    def age_notes(self) -> list[str]:
        """Return a sentence for each measure that was not studied at this age."""
        found = []
        for key in PRIMARY_KEYS:
            one = measure(key)
            youngest, oldest = one.ages
            if (youngest and self.age < youngest) or (oldest and self.age > oldest):
                found.append(f"{one.short_name}: {one.ages_note}")
        return found

    def clean_opened_on(self) -> date:
        """Refuse an opening in the future or before birth."""
        opened_on: date = self.cleaned_data["opened_on"]
        if opened_on > self.on:
            raise forms.ValidationError(STILL_TO_COME)
        if opened_on < self.patient.birth_date:
            raise forms.ValidationError("The patient was not born yet.")
        return opened_on

    def clean_schedule_weeks(self) -> list[int]:
        """Read the weeks with the rules of the review policy."""
        typed = self.cleaned_data["schedule_weeks"]
        if not typed:
            return []
        values = self.policy.to_values() | {"schedule_weeks": typed}
        try:
            return list(StallPolicy.from_values(values).schedule_weeks)
        except PolicyError as error:
            raise forms.ValidationError(list(error.errors.values())) from None

    def clean(self) -> dict[str, Any]:
        """Hold the days against each other and against the knee's other episodes."""
        entered = super().clean() or self.cleaned_data
        began, opened = entered.get("symptom_onset_on"), entered.get("opened_on")
        if began and began < self.patient.birth_date:
            self.add_error("symptom_onset_on", "The patient was not born yet.")
        elif began and opened and began > opened:
            self.add_error(
                "symptom_onset_on", "Symptoms cannot begin after the episode opens."
            )
        if opened and entered.get("side"):
            self._refuse_clash(entered["side"], opened)
        return entered

    def _refuse_clash(self, side: str, opened_on: date) -> None:
        self.clash = clash_of(
            patient=self.patient,
            side=side,
            from_on=opened_on,
            until_on=self.instance.discharged_on,
            but=self.instance.pk,
        )
        if self.clash and self.clash.is_open:
            since = day(self.clash.opened_on)
            self.add_error("side", f"This knee has an open episode since {since}.")
        elif self.clash:
            began, ended = day(self.clash.opened_on), day(self.clash.discharged_on)
            self.add_error(
                "opened_on",
                f"This knee was in care from {began} to {ended}; two episodes of "
                "one knee cannot share days.",
            )

    @property
    def details(self) -> dict[str, Any]:
        """Return the columns that the form holds."""
        return {name: self.cleaned_data[name] for name in self._meta.fields or ()}


class OpenEpisodeForm(EpisodeDetailsForm):
    """A new episode, with the clinician who takes it on."""

    clinician = forms.ModelChoiceField(queryset=User.objects.none(), empty_label=None)

    class Meta(EpisodeDetailsForm.Meta):
        fields: tuple[str, ...] = (*DETAILS_OF_EPISODE, "clinician")

    def __init__(self, *args: Any, by: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["clinician"].queryset = who_treats(by.site)  # type: ignore[attr-defined]
        self.fields["clinician"].initial = by.pk
        self.fields["opened_on"].initial = self.on


class EditEpisodeForm(EpisodeDetailsForm):
    """Details of an episode that may hold visits already."""

    def __init__(self, *args: Any, has_entries: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.has_entries = has_entries
        # Kept before cleaning writes the typed values into the instance.
        self.side_before = self.instance.side

    @property
    def details(self) -> dict[str, Any]:
        """Return the columns that the form holds; another knee has another past."""
        found, side = super().details, self.cleaned_data["side"]
        if side == self.side_before:
            return found
        return found | {"continues": earlier_episode(self.patient, side)}

    def clean_side(self) -> str:
        """Keep what was measured with the knee it was measured at."""
        side: str = self.cleaned_data["side"]
        if self.has_entries and side != self.side_before:
            raise forms.ValidationError(
                "This case holds visits, measures or letters of the other knee. Void "
                "them first if they were entered for the wrong knee."
            )
        return side

    def clean_opened_on(self) -> date:
        """Keep the opening before the discharge."""
        opened_on = super().clean_opened_on()
        discharged_on = self.instance.discharged_on
        if discharged_on and opened_on > discharged_on:
            raise forms.ValidationError("The case was discharged before that day.")
        return opened_on

    def differences(self, stored: Episode) -> list[Difference]:
        """Return what is stored beside what was typed, where a save was refused."""
        if not getattr(self, "stale_row", None):
            return []
        found = []
        for name in self.cleaned_data:
            was, typed = getattr(stored, name), self.cleaned_data[name]
            if was != typed:
                label = str(self.fields[name].label)
                found.append(
                    Difference(label, self._words(name, was), self._words(name, typed))
                )
        return found

    def _words(self, name: str, value: Any) -> str:
        choices = dict(getattr(self.fields[name], "choices", ()))
        if value is None or value == "":
            return "not recorded"
        if isinstance(value, date):
            return day(value)
        if isinstance(value, bool):
            return yes_no(value)
        if isinstance(value, list):
            return ", ".join(map(str, value)) or "the clinic's own"
        return str(choices.get(value, value))
