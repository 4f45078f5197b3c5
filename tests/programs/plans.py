"""Makers of programmes for the tests; they call the acts, as the pages do."""

from datetime import date
from typing import Any

from clinic.models import Episode
from programs.dosing.flow_questions import questions
from programs.lines import Line
from programs.models import FlowScreen, Phase, Prescription, Programme
from programs.planning import start_programme
from programs.prescribing import prescribe

SQUAT = "squat_half"
RESTRICTED = "bfr_knee_extension"


def make_programme(episode: Episode, *, on: date, **details: Any) -> Programme:
    """Start a programme of an invented title."""
    named = {"title": "Invented plan", **details}
    return start_programme(episode, by=episode.clinician, starts_on=on, **named)


def first_phase(programme: Programme) -> Phase:
    """Return the first phase of a programme."""
    return programme.phases.get(number=1)


def squat_line(**changes: Any) -> Line:
    """Return three sets of ten at 12 kg, three times a week."""
    dose: dict[str, Any] = {
        "exercise": SQUAT,
        "sets": 3,
        "repetitions": 10,
        "times_a_week": 3,
        "load": "kg",
        "load_kg": 12.0,
    }
    return Line(**dose | changes)


def flow_line(*, on: date, **changes: Any) -> Line:
    """Return a whole line under a cuff for a left knee."""
    dose: dict[str, Any] = {
        "exercise": RESTRICTED,
        "scheme": (30, 15, 15, 15),
        "rest_seconds": 30,
        "times_a_week": 3,
        "load": "percent",
        "load_percent": 30.0,
        "one_rm_kg": 60.0,
        "plate_step_kg": 2.5,
        "occlusion_mmhg": 195,
        "occlusion_side": "left",
        "occlusion_measured_on": on,
        "cuff_percent": 60,
    }
    return Line(**dose | changes)


def make_line(
    programme: Programme, *, on: date, line: Line | None = None
) -> Prescription:
    """Prescribe a line in the first phase."""
    return prescribe(
        first_phase(programme),
        by=programme.made_by,
        line=line or squat_line(),
        on=on,
    )


def open_screen(episode: Episode, *, on: date, **changes: Any) -> FlowScreen:
    """Sign a screen in which nothing speaks against a cuff."""
    answers = {key: "no" for key in questions().keys}
    details: dict[str, Any] = {
        "edition": questions().edition,
        "answered_on": on,
        "answers": answers | changes.pop("answers", {}),
    }
    return FlowScreen.objects.create(
        site=episode.site,
        episode=episode,
        signed_by=episode.clinician,
        **details | changes,
    )
