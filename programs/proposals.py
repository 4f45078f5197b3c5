"""The line that a form starts from, and what stands under its fields."""

from dataclasses import replace
from typing import Any

from .dosing.flow_restriction import SCHEME
from .dosing.limits import DosingPolicy
from .library_entries import Dose, Exercise
from .lines import Line
from .models import ClinicExercise

LONGEST_TEMPO = 40  # the column's length; a longer one is a remark


def proposed(entry: Exercise | ClinicExercise) -> Line:
    """Return the lower end of the library's dose; neither a load nor a pressure."""
    if isinstance(entry, ClinicExercise):
        line = Line(clinic_exercise=entry)
    else:
        line = Line(exercise=entry.key, **_dosed(entry.dose))
    return _under_cuff(line) if entry.is_bfr else line


def moved(line: Line, entry: Exercise | ClinicExercise) -> Line:
    """Return a line with another exercise and the same dose; its range is its own.

    Where the new exercise is counted in another way, its own dose is proposed.
    """
    fresh = proposed(entry)
    if _counts(fresh) != _counts(line) or line.is_flow_restricted or entry.is_bfr:
        return fresh
    return replace(
        line,
        exercise=fresh.exercise,
        clinic_exercise=fresh.clinic_exercise,
        range_from=None,
        range_to=None,
    )


def _counts(line: Line) -> tuple[bool, ...]:
    counted = (line.repetitions, line.hold_seconds, line.minutes, line.scheme)
    return tuple(bool(each) for each in counted)


def _dosed(dose: Dose | None) -> dict[str, Any]:
    if dose is None:
        return {"load": "none"}
    return {
        "sets": None if dose.scheme else dose.sets,
        "repetitions": _least(dose.reps),
        "scheme": dose.scheme,
        "hold_seconds": _least(dose.hold_seconds),
        "minutes": _least(dose.minutes),
        "rest_seconds": _least(dose.rest_seconds),
        "times_a_week": _least(dose.per_week),
        "tempo": dose.tempo if len(dose.tempo) <= LONGEST_TEMPO else "",
        "load": "none" if dose.minutes else "body",
    }


def _under_cuff(line: Line) -> Line:
    return replace(
        line,
        scheme=SCHEME,
        sets=None,
        repetitions=None,
        load="percent",
        rest_seconds=line.rest_seconds or 30,
    )


def _least(span: tuple[int, int] | None) -> int | None:
    return span[0] if span else None


def helps_of(line: Line, policy: DosingPolicy) -> dict[str, str]:
    """Return the library's spans and the ranges under a cuff, by field."""
    entry, found = line.entry, dict[str, str]()
    if isinstance(entry, Exercise):
        if entry.dose:
            found |= _spans(entry.dose)
        if entry.knee_range:
            least, most = entry.knee_range
            found["range_to"] = f"This exercise goes from {least} to {most} degrees."
    return found | (_flow_spans(policy) if line.is_flow_restricted else {})


def _flow_spans(policy: DosingPolicy) -> dict[str, str]:
    load = (policy.flow_load_least, policy.flow_load_most)
    pressure = (policy.flow_pressure_least, policy.flow_pressure_most)
    rest = (policy.flow_rest_least, policy.flow_rest_most)
    week = (policy.flow_week_least, policy.flow_week_most)
    return {
        "load_percent": f"Under a cuff {load[0]} to {load[1]}.",
        "cuff_percent": f"{pressure[0]} to {pressure[1]} per cent.",
        "rest_seconds": f"{rest[0]} to {rest[1]}; the cuff stays inflated.",
        "times_a_week": f"{week[0]} to {week[1]}.",
    }


def _spans(dose: Dose) -> dict[str, str]:
    spans = {
        "repetitions": dose.reps,
        "hold_seconds": dose.hold_seconds,
        "minutes": dose.minutes,
        "rest_seconds": dose.rest_seconds,
        "times_a_week": dose.per_week,
    }
    return {
        name: f"Library: {span[0]}"
        if span[0] == span[1]
        else f"Library: {span[0]} to {span[1]}"
        for name, span in spans.items()
        if span
    }
