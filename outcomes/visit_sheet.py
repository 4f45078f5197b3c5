"""The whole visit form: its parts together, what is wrong, and what it records."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from django.core.exceptions import ValidationError
from django.forms import BoundField, Form
from django.http import QueryDict
from django.urls import reverse

from clinic.models import Episode, Screen, Visit
from clinic.templatetags.clinic_format import day

from .due import Due, can_be_added, due_on_day
from .models import Activity, Assessment, Wording
from .policies import policy_for
from .questionnaire_form import QuestionnaireForm, Setting
from .recording import FilledForm, VisitEntry
from .science.measures import QUESTIONNAIRES, Measure, measure
from .screen_form import ScreenForm
from .session_logs import AS_PLANNED, LAST_SESSION, ProgrammePart, SessionLogForm
from .visit_form import VisitForm
from .visit_safety import VisitSafety

ATTENDED = Visit.Attendance.ATTENDED
LINE_GONE = (
    "A line that this page showed is no longer part of the programme. What you typed "
    "for the other lines is kept; save again."
)


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing to mend: where it stands, what is wrong, where to look instead."""

    anchor: str
    label: str
    text: str
    url: str = ""
    link: str = ""


class VisitSheet:
    """The parts of one visit form; `typed` is what was posted, `also` was asked for."""

    def __init__(
        self,
        *,
        episode: Episode,
        on: date,
        visit: Visit | None = None,
        typed: QueryDict | None = None,
        also: list[str] | None = None,
    ) -> None:
        self.episode, self.on, self.visit = episode, on, visit
        self.typed, self.also = typed, [key for key in also or [] if key]
        self.policy = policy_for(episode.site)
        self.main = VisitForm(typed, episode=episode, on=on, visit=visit)
        self.screen = self._screen()
        self.programme = ProgrammePart(episode=episode, on=on, visit=visit, typed=typed)
        self.questionnaires = [self._questionnaire(key) for key in self._keys()]

    # The parts

    @cached_property
    def due(self) -> Due | None:
        """The questionnaire that is due on this day, for a new visit."""
        if self.visit:
            return None
        return due_on_day(self.episode, policy=self.policy, on=self.on)

    @cached_property
    def held(self) -> dict[str, Assessment]:
        """The questionnaires that stand for this visit, by measure."""
        if not self.visit:
            return {}
        rows = self.visit.assessments.standing().select_related("wording")
        return {row.measure: row for row in rows}

    @cached_property
    def standing_screen(self) -> Screen | None:
        """The screen that was answered at this visit; it is not asked again."""
        return self.visit.screens.standing().first() if self.visit else None

    @property
    def response_title(self) -> str:
        """The heading over pain during exercise; empty before there was any."""
        told = (self.main[name].value() for name in ("pain_during", "next_morning"))
        is_told = any(value not in (None, "") for value in told)
        return self.programme.response_title or (LAST_SESSION if is_told else "")

    @cached_property
    def safety(self) -> VisitSafety:
        """What the form puts before everything else."""
        return VisitSafety(episode=self.episode, policy=self.policy, on=self.on)

    def _screen(self) -> ScreenForm | None:
        if self.standing_screen:
            return None
        safety = self.safety
        kind = Screen.Form.FULL if safety.full_because else Screen.Form.SHORT
        return ScreenForm(self.typed, kind=kind, age=safety.age)

    def _keys(self) -> list[str]:
        """Return the measures on the page, in the order of opening."""
        if self.typed is not None:
            wanted = [*self.typed.getlist("forms"), *self.also]
        else:
            due = [self.due.about.key] if self.due else []
            wanted = [*self.held, *due, *self.also]
        return [key for key in dict.fromkeys(wanted) if key in QUESTIONNAIRES]

    @cached_property
    def unknown_keys(self) -> list[str]:
        """The posted measures that do not exist; only a crafted form has one."""
        posted = self.typed.getlist("forms") if self.typed is not None else []
        return [key for key in posted if key not in QUESTIONNAIRES]

    @cached_property
    def wordings(self) -> list[Wording]:
        """Every wording the site ever installed; a page may have shown an older one."""
        return list(Wording.objects.filter(site_id=self.episode.site_id))

    @cached_property
    def activities(self) -> tuple[Activity, ...]:
        """The activities that the patient named so far."""
        named = Activity.objects.filter(patient=self.episode.patient_id)
        return tuple(named.order_by("number"))

    def _questionnaire(self, key: str) -> QuestionnaireForm:
        about = measure(key)
        in_use = [w for w in self.wordings if w.measure == key and not w.retired_at]
        setting = Setting(
            about=about,
            wording=self._wording(key, in_use),
            held=self.held.get(key),
            activities=self.activities if about.has_own_items else (),
            languages=tuple(w.language for w in in_use),
        )
        return QuestionnaireForm(self.typed, setting=setting)

    def _wording(self, key: str, in_use: list[Wording]) -> Wording | None:
        """Return the wording that the page showed, or the one to show."""
        by_language = {wording.language: wording for wording in in_use}
        held = self.held.get(key)
        if self.typed is None or f"{key}-language" not in self.typed:
            return held.wording if held else by_language.get("en")
        language = self.typed.get(f"{key}-language", "")
        if self.also_was_asked:
            return by_language.get(language) or by_language.get("en")
        shown = self.typed.get(f"{key}-wording", "")
        own = {str(w.pk): w for w in self.wordings if w.measure == key}
        return own.get(shown)

    @property
    def also_was_asked(self) -> bool:
        """Whether the form came back only to show more of itself."""
        return self.typed is not None and "also" in self.typed

    @property
    def is_only_shown(self) -> bool:
        """Whether the form came back to be shown again, with nothing saved."""
        as_planned = self.typed is not None and AS_PLANNED in self.typed
        return self.also_was_asked or as_planned

    @property
    def to_add(self) -> tuple[Measure, ...]:
        """The questionnaires that can still be added."""
        return can_be_added({form.about.key for form in self.questionnaires})

    # Checking

    @property
    def forms(self) -> list[Form]:
        """Every part, in the order of the page."""
        screen = [self.screen] if self.screen else []
        logs = [line.form for line in self.programme.lines]
        return [self.main, *screen, *logs, *self.questionnaires]

    def is_valid(self) -> bool:
        """Check each part and what holds between them."""
        for form in self.forms:
            form.full_clean()
        attendance = self.main.cleaned_data.get("attendance")
        if attendance == ATTENDED:
            if self.screen:
                self.screen.require_all()
            self.programme.refuse_lines_to_come(self.main.cleaned_data)
            self._refuse_second_assessments()
        elif attendance:
            self._refuse_outcomes(Visit.Attendance(attendance).label)
        is_known = not self.unknown_keys and not self.programme.unknown
        return is_known and not any(form.errors for form in self.forms)

    def _refuse_outcomes(self, label: str) -> None:
        """An appointment that did not happen has no outcomes; nothing is dropped."""
        filled = self.main.outcome_labels()
        if self.screen and self.screen.is_touched:
            filled.append("the red-flag screen")
        filled += [f"what was done of {line.name}" for line in self.programme.told()]
        filled += [f.about.short_name for f in self.questionnaires if f.is_answered]
        if filled:
            self.main.add_error(
                "attendance",
                f"You marked “{label}” but entered: {', '.join(filled)}. "
                "Clear that, or mark the visit as attended.",
            )

    def _refuse_second_assessments(self) -> None:
        visited = self.main.cleaned_data.get("visited_on")
        answered = {f.about.key: f for f in self.questionnaires if f.is_answered}
        if not visited or not answered:
            return
        others = (
            Assessment.objects.standing()
            .of_episode(self.episode)
            .filter(assessed_on=visited, measure__in=answered)
            .exclude(pk__in=[held.pk for held in self.held.values()])
        )
        for other in others:
            form = answered[other.measure]
            error = ValidationError(
                f"{form.about.short_name} is already recorded for {day(visited)}.",
                params={
                    "url": reverse("outcomes:assessment", args=[other.pk]),
                    "link": "Open it",
                },
            )
            form.add_error(None, error)

    def problems(self) -> list[Problem]:
        """Return everything to mend, in the order of the page."""
        found = [
            Problem(
                "visit-questionnaires",
                "Questionnaires",
                f"There is no questionnaire “{key}”.",
            )
            for key in self.unknown_keys
        ]
        if self.programme.unknown:
            found.append(Problem("visit-programme", "The programme", LINE_GONE))
        for form in self.forms:
            for name, errors in form.errors.as_data().items():
                found += [_problem(form, name, error) for error in errors]
        return found

    # Recording

    def to_entry(self) -> VisitEntry:
        """Return what the valid form records; names the patient's new activities."""
        given = self.main.cleaned_data
        was_attended = given["attendance"] == ATTENDED
        screen = self.screen if was_attended else None
        return VisitEntry(
            visited_on=given["visited_on"],
            attendance=given["attendance"],
            note=given["note"],
            next_planned_on=given["next_planned_on"],
            pain=self.main.pain(),
            pain_during=given["pain_during"],
            next_morning=given["next_morning"],
            screen_form=screen.kind if screen else "",
            screen_answers=screen.answers() if screen else {},
            screen_decision=screen.cleaned_data["decision"] if screen else "",
            forms=tuple(self._filled()) if was_attended else (),
            session_logs=self.programme.entries() if was_attended else (),
        )

    def _filled(self) -> Iterator[FilledForm]:
        for form in self.questionnaires:
            if form.is_answered:
                yield form.to_filled(self.episode)


def _problem(form: Form, name: str, error: ValidationError) -> Problem:
    extra = error.params or {}
    anchor, label = _place(form, name)
    return Problem(
        anchor, label, error.messages[0], extra.get("url", ""), extra.get("link", "")
    )


def _place(form: Form, name: str) -> tuple[str, str]:
    """Return where an error points to, and what it is called."""
    if name in form.fields:
        bound: BoundField = form[name]
        about = f"{form.about}, " if isinstance(form, SessionLogForm) else ""
        return str(bound.auto_id), f"{about}{bound.label}"
    if isinstance(form, QuestionnaireForm):
        return f"questionnaire-{form.about.key}", form.about.short_name
    return "visit-form", ""
