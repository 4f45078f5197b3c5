"""The visit's own fields: attendance, dates, pain, the next morning, notes."""

from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms import BoundField
from django.urls import reverse

from clinic.models import Episode, Visit
from clinic.templatetags.clinic_format import day
from programs.models import NextMorning

from .models import PAIN_KINDS, PainScore
from .recording import visit_state
from .science.measures import measure

PAIN_LABELS = {kind: measure(f"pain_{kind}").name for kind in PAIN_KINDS}


class RatingField(forms.CharField):
    """A rating from 0 to 10; empty stays empty, and 0 is an answer."""

    def __init__(self, *, label: str) -> None:
        super().__init__(required=False, label=label)

    def clean(self, value: Any) -> int | None:
        """Return the whole number, or None where nothing was tapped."""
        raw = str("" if value is None else value).strip()
        if not raw:
            return None
        if not (raw.isascii() and raw.isdigit() and int(raw) <= 10):
            raise ValidationError(
                "Choose a whole number from 0 to 10, or leave it empty."
            )
        return int(raw)


def iso_day(*, label: str, required: bool) -> forms.DateField:
    """Return a field for a day; browsers send ISO, and nothing else is guessed."""
    return forms.DateField(
        label=label,
        required=required,
        input_formats=["%Y-%m-%d"],
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
        error_messages={
            "required": "Enter the day.",
            "invalid": "Write the day as year-month-day, for example 2026-03-03.",
        },
    )


class VisitForm(forms.Form):
    """What every visit carries, attended or not."""

    attendance = forms.ChoiceField(
        choices=Visit.Attendance.choices,
        label="Attendance",
        error_messages={"required": "Choose what became of the appointment."},
    )
    visited_on = iso_day(label="Day of the visit", required=True)
    pain_during = RatingField(label="Pain during exercise")
    next_morning = forms.ChoiceField(
        choices=NextMorning.choices, required=False, label="The knee the next morning"
    )
    note = forms.CharField(
        required=False,
        max_length=10_000,
        label="Notes",
        widget=forms.Textarea(attrs={"rows": 4, "autocapitalize": "sentences"}),
    )
    next_planned_on = iso_day(label="Next visit", required=False)

    def __init__(
        self,
        data: Any = None,
        *,
        episode: Episode,
        on: date,
        visit: Visit | None = None,
    ) -> None:
        self.episode, self.on, self.visit = episode, on, visit
        is_fresh = visit is None and data is None
        self.carried_over = plan_ahead(episode, on=on) if is_fresh else None
        super().__init__(data, initial=stored(visit) if visit else self._fresh())
        self.fields["visited_on"].widget.attrs |= self._possible_days()
        if self.carried_over:
            at = day(self.carried_over.visited_on)
            self.fields["next_planned_on"].help_text = f"Planned at the visit of {at}."
        for kind, label in PAIN_LABELS.items():
            self.fields[f"pain_{kind}"] = RatingField(label=label)

    def _fresh(self) -> dict[str, Any]:
        """Return where a new visit starts: today, with the day that is planned."""
        planned = self.carried_over.next_planned_on if self.carried_over else None
        return {"visited_on": self.on, "next_planned_on": planned}

    def _possible_days(self) -> dict[str, str]:
        """Return the first and last day that the field offers; `clean` decides."""
        return {"min": str(self.episode.opened_on), "max": str(self.on)}

    def clean_visited_on(self) -> date:
        """Keep the day inside the episode and out of the future, once per day."""
        chosen: date = self.cleaned_data["visited_on"]
        opened, discharged = self.episode.opened_on, self.episode.discharged_on
        if chosen > self.on:
            raise ValidationError("This day is in the future; log what has happened.")
        if chosen < opened:
            raise ValidationError(
                f"This case was opened on {day(opened)}; a visit cannot be earlier."
            )
        if discharged and chosen > discharged:
            raise ValidationError(
                f"This case was discharged on {day(discharged)}; take the discharge "
                "back before logging a later visit."
            )
        self._refuse_second(chosen)
        return chosen

    def _refuse_second(self, chosen: date) -> None:
        others = Visit.objects.standing().filter(
            episode=self.episode, visited_on=chosen
        )
        if other := others.exclude(pk=self.visit.pk if self.visit else None).first():
            raise ValidationError(
                f"This case already has a visit on {day(chosen)}.",
                params={
                    "url": reverse("outcomes:change_visit", args=[other.pk]),
                    "link": "Open that visit",
                },
            )

    def clean(self) -> dict[str, Any]:
        """Check what holds between two fields."""
        cleaned = super().clean() or self.cleaned_data
        visited, planned = cleaned.get("visited_on"), cleaned.get("next_planned_on")
        if visited and planned and planned <= visited:
            self.add_error(
                "next_planned_on",
                f"The next visit must be later than this one, after {day(visited)}.",
            )
        if visited and any(value is not None for value in self.pain().values()):
            self._refuse_second_pain(visited)
        return cleaned

    def _refuse_second_pain(self, visited: date) -> None:
        """Pain that came from elsewhere for that day stays; one row a day."""
        others = PainScore.objects.standing().filter(
            episode=self.episode, rated_on=visited
        )
        if others.exclude(visit=self.visit).exists() if self.visit else others.exists():
            self.add_error(
                "pain_worst",
                f"Pain is already recorded for {day(visited)}; clear it here.",
            )

    def pain(self) -> dict[str, int | None]:
        """Return the ratings by kind; only after validation."""
        return {kind: self.cleaned_data.get(f"pain_{kind}") for kind in PAIN_KINDS}

    def ratings(self) -> list[tuple[str, BoundField]]:
        """Return the short legend and the field of each rating, for the template."""
        return [(kind.capitalize(), self[f"pain_{kind}"]) for kind in PAIN_KINDS]

    def outcome_labels(self) -> list[str]:
        """Return the labels of outcomes that were filled; only after validation."""
        names = [
            *(f"pain_{kind}" for kind in PAIN_KINDS),
            "pain_during",
            "next_morning",
        ]
        return [
            str(self.fields[name].label).lower()
            for name in names
            if self.cleaned_data.get(name) not in (None, "")
        ]


def plan_ahead(episode: Episode, *, on: date) -> Visit | None:
    """Return the latest visit where the day it planned still lies ahead."""
    visits = Visit.objects.standing().filter(episode=episode)
    latest = visits.order_by("-visited_on").first()
    planned = latest.next_planned_on if latest else None
    return latest if planned and planned > on else None


def stored(visit: Visit) -> dict[str, Any]:
    """Return what a visit holds, by field; runs queries."""
    state = visit_state(visit)
    pain = {f"pain_{kind}": value for kind, value in state.pop("pain").items()}
    days = {
        "visited_on": visit.visited_on,
        "next_planned_on": visit.next_planned_on,
    }
    return {**state, **pain, **days}
