"""What a line must fulfil before it is prescribed: one reason per field.

The guards against typing errors are this project's own assumptions; every number of
blood-flow restriction comes from the site's dosing policy, within published ranges.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from clinic.day_field import STILL_TO_COME
from clinic.models import Episode, Side

from .dosing.flow_restriction import (
    SCHEME,
    Occlusion,
    cuff_pressure,
    flow_load,
    load_outside,
    time_inflated,
    weekly_frequency,
)
from .dosing.limits import DosingPolicy
from .dosing.loading import Plates, TargetLoad, target_load
from .dosing.no_estimate import NoEstimate, outside
from .library_checks import DEEPEST_KNEE_BEND
from .library_entries import Exercise, Kind
from .lines import Line
from .models import Prescription

FINEST_PLATES = Plates(0.1)  # where the equipment's step is not known
# (field, lowest, highest, what, unit); guards against typing errors, assumed.
WHOLE_NUMBERS = (
    ("sets", 1, 20, "Sets", ""),
    ("repetitions", 1, 200, "Repetitions", ""),
    ("hold_seconds", 1, 300, "The hold", "seconds"),
    ("minutes", 1, 240, "The time", "minutes"),
    ("rest_seconds", 0, 600, "The rest", "seconds"),
    ("times_a_week", 1, 21, "Times a week", ""),
    ("range_from", 0, DEEPEST_KNEE_BEND, "The smallest bend", "degrees"),
    ("range_to", 0, DEEPEST_KNEE_BEND, "The largest bend", "degrees"),
)
MOST_IN_A_SCHEME = 10
FIELD_OF = {
    "occlusion": "occlusion_mmhg",
    "one_rm": "one_rm_kg",
    "step_kg": "plate_step_kg",
    "sessions": "times_a_week",
}
Faults = Iterator[tuple[str, str]]


def limb_of(line: Line, episode: Episode) -> str:
    """Return the limb that works: "left" or "right"; nothing where both do."""
    if line.on_side == Prescription.On.BOTH:
        return ""
    is_index = line.on_side == Prescription.On.INDEX
    other = Side.LEFT if episode.side == Side.RIGHT else Side.RIGHT
    return str(episode.side if is_index else other)


def with_load(line: Line, policy: DosingPolicy) -> Line:
    """Give a percentage its kg where 1RM is known, rounded down to the plates."""
    if line.load != Prescription.Load.PERCENT:
        return line
    target = _target(line, policy) if line.one_rm_kg is not None else None
    return replace(line, load_kg=target.kg if isinstance(target, TargetLoad) else None)


def faults(
    line: Line, *, episode: Episode, policy: DosingPolicy, on: date
) -> dict[str, str]:
    """Return why a line cannot be prescribed as it stands, by field; empty if it can.

    Whether the flow screen is open is asked elsewhere, by the act itself.
    """
    rules = [_exercise(line, episode), _numbers(line), _dose(line), _range(line)]
    rules += [_load(line, policy)]
    if line.is_flow_restricted:
        rules.append(_flow(line, episode, policy, on))
    found: dict[str, str] = {}
    for rule in rules:
        for name, reason in rule:
            found.setdefault(name, reason)
    return found


def _exercise(line: Line, episode: Episode) -> Faults:
    own = line.clinic_exercise
    if (own is None) == (line.exercise == "") or line.entry is None:
        yield "exercise", "Choose one exercise of the library."
    elif own and own.site_id != episode.site_id:
        yield "exercise", "This entry is not in the library of this clinic."
    elif own and own.retired_at:
        yield "exercise", f"{own.name} was retired: choose another exercise."


def _numbers(line: Line) -> Faults:
    for name, low, high, what, unit in WHOLE_NUMBERS:
        value = getattr(line, name)
        if value is None:
            continue
        refusal = outside(value, low=low, high=high, what=what, unit=unit, field=name)
        if refusal:
            yield name, refusal.reason
    if len(line.scheme) > MOST_IN_A_SCHEME:
        yield "scheme", f"At most {MOST_IN_A_SCHEME} sets; you typed more."
    if any(not 1 <= each <= 200 for each in line.scheme):
        yield "scheme", "Each set has 1 to 200 repetitions."


def _dose(line: Line) -> Faults:
    if line.scheme and (line.repetitions or line.sets):
        yield "scheme", "Either a scheme, or sets and repetitions: clear one of them."
    is_counted = line.repetitions or line.hold_seconds
    if is_counted and not line.sets and not line.minutes:
        yield "sets", "How many sets?"
    if is_counted or line.scheme or line.minutes or _is_without_dose(line):
        return
    yield "repetitions", "Say how much: repetitions, a hold, a scheme, or minutes."


def _is_without_dose(line: Line) -> bool:
    """Tell whether the entry is care that is not counted, such as tape or advice."""
    entry = line.entry
    return isinstance(entry, Exercise) and entry.kind in (Kind.ADJUNCT, Kind.EDUCATION)


def _range(line: Line) -> Faults:
    low, high = line.range_from, line.range_to
    if low is not None and high is not None and low > high:
        yield "range_to", "The largest bend is less than the smallest."
    entry = line.entry
    if not isinstance(entry, Exercise) or entry.knee_range is None:
        return
    least, most = entry.knee_range
    if low is not None and not least <= low <= most:
        yield "range_from", _out_of_range(low, least, most)
    if high is not None and not least <= high <= most:
        yield "range_to", _out_of_range(high, least, most)


def _out_of_range(typed: int, least: int, most: int) -> str:
    return (
        f"{typed} degrees is outside this exercise, which goes from {least} to {most}: "
        "choose the neighbouring rung for another range."
    )


def _load(line: Line, policy: DosingPolicy) -> Faults:
    kinds = Prescription.Load
    if line.load not in kinds.values:
        yield "load", "Choose what the load is given in."
    if line.load == kinds.BAND and not line.band.strip():
        yield "band", "Which band?"
    if line.load == kinds.KG and line.load_kg is None:
        yield "load_kg", "How many kg?"
    if line.load == kinds.PERCENT and line.load_percent is None:
        yield "load_percent", "How many per cent of one-repetition maximum?"
    if line.load not in (kinds.KG, kinds.PERCENT) and line.load_kg is not None:
        yield "load", "Kilograms are given: choose “Kilograms”, or clear them."
    if line.load != kinds.PERCENT and line.load_percent is not None:
        yield "load", "A percentage is given: choose it as the load, or clear it."
    yield from _load_numbers(line, policy)


def _load_numbers(line: Line, policy: DosingPolicy) -> Faults:
    most = policy.most_load
    limits = (
        ("load_kg", 0.1, most, "The load", "kg"),
        ("load_percent", 1, 100, "The share", "% of 1RM"),
        ("one_rm_kg", 0.1, 2 * most, "1RM", "kg"),
        ("plate_step_kg", 0.1, 50, "The smallest step", "kg"),
        ("empty_kg", 0, most, "The empty weight", "kg"),
    )
    is_fit = True
    for name, low, high, what, unit in limits:
        value = getattr(line, name)
        if value is None:
            continue
        refusal = outside(value, low=low, high=high, what=what, unit=unit, field=name)
        if refusal:
            is_fit = False
            yield name, refusal.reason
    is_percent = line.load == Prescription.Load.PERCENT
    if is_fit and is_percent and line.one_rm_kg is not None and line.load_percent:
        yield from _refused(_target(line, policy), "load_percent")


def _target(line: Line, policy: DosingPolicy) -> TargetLoad | NoEstimate:
    step, empty = line.plate_step_kg, line.empty_kg or 0.0
    plates = Plates(step, empty) if step else replace(FINEST_PLATES, empty_kg=empty)
    make = flow_load if line.is_flow_restricted else target_load
    return make(
        one_rm_kg=line.one_rm_kg,
        percent=line.load_percent,
        plates=plates,
        policy=policy,
    )


def _flow(line: Line, episode: Episode, policy: DosingPolicy, on: date) -> Faults:
    limb = limb_of(line, episode)
    if line.entry and not line.entry.is_bfr:
        yield "cuff_percent", "A cuff is used with the exercises made for it only."
    if not limb:
        yield (
            "on_side",
            "The pressure is measured on each limb: prescribe each side as a line.",
        )
    yield from _cuff(line, episode, policy, on, limb)
    yield from _flow_load(line, policy)
    if not line.scheme or line.scheme != SCHEME[: len(line.scheme)]:
        shown = "-".join(map(str, SCHEME))
        yield "scheme", f"Under a cuff it is {shown}, or its first sets."
    rest = time_inflated(rest_seconds=line.rest_seconds, policy=policy)
    yield from _refused(rest, "rest_seconds")
    yield from _refused(weekly_frequency(line.times_a_week, policy=policy), "sessions")


def _cuff(
    line: Line, episode: Episode, policy: DosingPolicy, on: date, limb: str
) -> Faults:
    measured_on = line.occlusion_measured_on
    if measured_on is None:
        yield "occlusion_measured_on", "When was the occlusion pressure measured?"
    elif measured_on > on:
        yield "occlusion_measured_on", STILL_TO_COME
    elif measured_on < episode.opened_on:
        yield "occlusion_measured_on", "Measured before this episode: measure again."
    if line.occlusion_side not in Side.values:
        yield "occlusion_side", "On which limb was it measured?"
    elif limb and line.occlusion_side != limb:
        yield "occlusion_side", "It was measured on the other limb: measure this one."
    mmhg = line.occlusion_mmhg
    is_measured = mmhg is not None
    occlusion = Occlusion(mmhg or 0, limb, measured_on or on, is_measured=is_measured)
    found = cuff_pressure(
        occlusion=occlusion, percent=line.cuff_percent, side=limb, policy=policy
    )
    yield from _refused(found, "cuff_percent", percent="cuff_percent")


def _flow_load(line: Line, policy: DosingPolicy) -> Faults:
    kinds = Prescription.Load
    if line.load == kinds.PERCENT:
        refusal = load_outside(line.load_percent, policy=policy)
        yield from _refused(refusal, "load_percent", percent="load_percent")
    elif line.load == kinds.KG and line.one_rm_kg is None:
        yield "one_rm_kg", "Under a cuff the load is a share of 1RM: what is the 1RM?"
    elif line.load == kinds.KG and line.load_kg is not None and line.one_rm_kg:
        percent = 100 * line.load_kg / line.one_rm_kg
        refusal = load_outside(percent, policy=policy)
        yield from _refused(refusal, "load_kg", percent="load_kg")
    elif line.load in (kinds.BAND, kinds.NONE):
        yield "load", "Under a cuff the load is a share of 1RM, or in kg beside a 1RM."
    elif line.load == kinds.BODY and not (line.entry and line.entry.is_weight_bearing):
        yield "load", "Under a cuff the load is a share of 1RM, or in kg beside a 1RM."


def _refused(found: object, name: str, *, percent: str = "load_percent") -> Faults:
    """Yield the reason of a refusal, at the field of the line that it is about."""
    if isinstance(found, NoEstimate):
        about = found.field or name
        yield (
            percent if about == "percent" else FIELD_OF.get(about, about),
            found.reason,
        )
