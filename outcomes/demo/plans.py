"""Plain values that describe an invented caseload before anything is saved."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from .names import Name

Answers = Mapping[str, str | int]


@dataclass(frozen=True, slots=True, kw_only=True)
class FormPlan:
    """One questionnaire as it will be answered."""

    measure: str
    answers: Answers
    mode: str = "alone"


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitPlan:
    """One appointment; `positive` names the concerns answered with yes."""

    on: date
    week: int
    attendance: str
    note: str
    next_planned_on: date | None
    pain: Mapping[str, int]
    pain_during: int | None
    next_morning: str
    forms: tuple[FormPlan, ...]
    positive: tuple[str, ...] = ()
    decision: str = ""


@dataclass(frozen=True, slots=True)
class ContactPlan:
    """One try to reach somebody who stayed away."""

    on: date
    way: str
    result: str
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReviewPlan:
    """A decision on a flagged case."""

    on: date
    decision: str
    why: str
    look_again_on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class ScreenPlan:
    """The full screen at the opening: concerns answered with yes, and the decision."""

    positive: tuple[str, ...] = ()
    decision: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What is asked once, when an episode opens."""

    activity_level: str
    sport: str
    goals: str
    provoked_by: str
    pain_when_provoked: int
    settles_in: str
    irritability: str


@dataclass(frozen=True, slots=True, kw_only=True)
class EpisodePlan:
    """Care for one knee; `tells` is the finding that must hold on the demo's day."""

    story: str
    tells: str
    side: str
    is_bilateral: bool
    clinician: int
    symptom_onset_on: date
    opened_on: date
    primary_measure: str
    facts: Facts
    screen: ScreenPlan
    visits: tuple[VisitPlan, ...]
    contacts: tuple[ContactPlan, ...] = ()
    review: ReviewPlan | None = None
    discharged_on: date | None = None
    reason: str = ""
    discharge_note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonPlan:
    """One invented patient with the episodes in order of opening."""

    record_number: str
    name: Name
    birth_date: date
    activities: tuple[str, ...]
    episodes: tuple[EpisodePlan, ...]
