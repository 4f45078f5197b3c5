"""Chapters of what was planned and done: programmes, how the knee answered, safety."""

from typing import Any

from clinic.templatetags.clinic_format import day
from programs.dose_words import dose_words, more_words
from programs.dosing.flow_questions import questions
from programs.lines import line_of, name_of
from programs.models import (
    AdverseEvent,
    FlowScreen,
    OtherCare,
    Phase,
    Prescription,
    Programme,
    SessionLog,
    SessionResponse,
    SuggestionChoice,
)

from .kinds import Kind, Known, answered, choice_on, on_day
from .shape import Fact, fact


def exercise(row: Prescription, known: Known) -> list[Fact]:
    """Return the exercise by its name in either library, and its dose in words."""
    line = line_of(row)
    dose = ", ".join([dose_words(line), *more_words(line)])
    return [
        Fact("exercise", "Exercise", row.exercise, line.name),
        fact("dose", "In words", dose),
    ]


def line_heading(row: Prescription) -> str:
    """Return the exercise and the day from which it was done."""
    begun = f"from {day(row.starts_on)}" if row.starts_on else "not begun"
    return f"{name_of(row)}, {begun}"


def log_heading(row: SessionLog) -> str:
    """Return the exercise and the visit at which it was told."""
    return f"{name_of(row.prescription)}, told on {day(row.visit.visited_on)}"


def suggestion_heading(row: SuggestionChoice) -> str:
    """Return the exercise and the day of a suggestion."""
    return f"{name_of(row.prescription)}, {day(row.suggested_on)}"


def told_at_visit(row: Any) -> str:
    """Return the day of the visit."""
    return day(row.visit.visited_on)


PROGRAMMES = Kind(
    model=Programme,
    key="programmes",
    title="Programmes",
    about="What was planned for your knee.",
    path="episode__patient",
    heading=lambda row: f"{row.title}, from {day(row.starts_on)}",
    order=("starts_on", "pk"),
    titled=("title", "starts_on"),
    labels={"copied_from": "Copied from"},
)
PHASES = Kind(
    model=Phase,
    key="phases",
    title="Phases of a programme",
    about="Stretches of a programme, each with its aim.",
    path="programme__episode__patient",
    heading=str,
    order=("programme", "number"),
    titled=("number", "title"),
)
LINES = Kind(
    model=Prescription,
    key="exercises",
    title="Exercises",
    about="Each exercise with its dose; a change makes a new entry.",
    path="phase__programme__episode__patient",
    heading=line_heading,
    order=("phase__programme", "phase__number", "pk"),
    titled=("exercise", "starts_on"),
    related=("replaces__clinic_exercise",),
    labels={
        "on_side": "Which side",
        "hold_seconds": "Held for, seconds",
        "rest_seconds": "Rest, seconds",
        "load_kg": "Load, kg",
        "load_percent": "Load, per cent of the heaviest single lift",
        "plate_step_kg": "Smallest step of the equipment, kg",
        "empty_kg": "Weight of the empty equipment, kg",
        "range_from": "Knee bent from, degrees",
        "range_to": "Knee bent to, degrees",
        "starts_on": "From",
        "stops_on": "Until",
        "prescribed_at": "Entered",
        "replaces": "In place of",
        "one_rm_kg": "Heaviest single lift, kg",
        "occlusion_mmhg": "Measured pressure that stops the flow, mmHg",
        "cuff_percent": "Cuff pressure, per cent of it",
    },
    special={"exercise": exercise},
    left_out={"clinic_exercise": "named as the exercise"},
)
LOGS = Kind(
    model=SessionLog,
    key="sessions",
    title="What you did at home",
    about="As you told it at a visit.",
    path="visit__episode__patient",
    heading=log_heading,
    order=("visit__visited_on", "pk"),
    titled=("visit", "prescription"),
    related=("prescription__clinic_exercise",),
)
RESPONSES = Kind(
    model=SessionResponse,
    key="responses",
    title="How the knee answered",
    about="Pain while exercising, 0 to 10, and the knee on the morning after.",
    path="visit__episode__patient",
    heading=told_at_visit,
    order=("visit__visited_on", "pk"),
    titled=("visit",),
)
SUGGESTIONS = Kind(
    model=SuggestionChoice,
    key="suggestions",
    title="Suggestions of the software",
    about="What the software suggested to your clinician by a rule, and what your "
    "clinician did with it. Your clinician decides.",
    path="prescription__phase__programme__episode__patient",
    heading=suggestion_heading,
    order=("suggested_on", "pk"),
    titled=("prescription", "suggested_on"),
    related=("prescription__clinic_exercise", "leads_to__clinic_exercise"),
)
FLOW_SCREENS = Kind(
    model=FlowScreen,
    key="cuff-questions",
    title="Questions before exercise with a cuff",
    about="Asked before exercise with a cuff that restricts the flow of blood.",
    path="episode__patient",
    heading=on_day("answered_on"),
    order=("answered_on", "pk"),
    titled=("answered_on",),
    special={"answers": answered("answers", questions().asked, "Question")},
)
EVENTS = Kind(
    model=AdverseEvent,
    key="events",
    title="What went wrong",
    about="Events during or after treatment, and what was done.",
    path="episode__patient",
    heading=on_day("happened_on"),
    order=("happened_on", "pk"),
    titled=("happened_on",),
    related=("prescription__clinic_exercise",),
)
OTHER_CARE = Kind(
    model=OtherCare,
    key="other-care",
    title="Other care",
    about="Care and events outside the programme that can move the numbers.",
    path="episode__patient",
    heading=choice_on("what", "began_on"),
    order=("began_on", "pk"),
    titled=("what", "began_on"),
)
