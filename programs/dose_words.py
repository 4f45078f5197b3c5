"""The dose of a line in words, for pages that clinicians read."""

from clinic.templatetags.clinic_format import day, plural

from .dosing.flow_restriction import CuffPressure, Occlusion, cuff_pressure
from .dosing.no_estimate import plain
from .library_entries import Dose
from .lines import Line
from .models import Prescription

SIDES = {"index": "treated side", "other": "other side", "both": "both sides"}
DAYS_OF_A_WEEK = 7


def dose_words(line: Line) -> str:
    """Return "3 sets of 10, 12 kg, 3 a week, treated side"."""
    parts = (amount_words(line), load_words(line), often_words(line))
    return ", ".join(filter(None, (*parts, SIDES.get(line.on_side, ""))))


def amount_words(line: Line) -> str:
    """Return how much is done in one session."""
    if line.scheme:
        return f"{'-'.join(map(str, line.scheme))} repetitions"
    sets = plural(line.sets, "set") if line.sets else ""
    if line.repetitions:
        held = f", each held for {line.hold_seconds} seconds"
        counted = f"{sets} of {line.repetitions}" if sets else str(line.repetitions)
        return counted + (held if line.hold_seconds else "")
    if line.hold_seconds:
        holds = plural(line.sets or 1, "hold")
        return f"{holds} of {line.hold_seconds} seconds"
    if line.minutes:
        bouts = f"{plural(line.sets, 'bout')} of " if line.sets else ""
        return f"{bouts}{plural(line.minutes, 'minute')}"
    return sets


def load_words(line: Line) -> str:
    """Return the load; nothing where there is none."""
    kinds = Prescription.Load
    if line.load == kinds.KG and line.load_kg is not None:
        return f"{plain(line.load_kg, decimals=2)} kg"
    if line.load == kinds.BAND:
        return f"band: {line.band}" if line.band else "band"
    if line.load == kinds.PERCENT and line.load_percent is not None:
        share = f"{plain(line.load_percent)} % of 1RM"
        kg = line.load_kg
        return share if kg is None else f"{share}: {plain(kg, decimals=2)} kg"
    is_body = line.load == kinds.BODY and bool(amount_words(line))
    return "body weight" if is_body else ""


def often_words(line: Line) -> str:
    """Return how often in a week."""
    times = line.times_a_week
    if times is None:
        return ""
    return "every day" if times == DAYS_OF_A_WEEK else f"{times} a week"


def more_words(line: Line) -> list[str]:
    """Return what is said beside the dose: rest, tempo, range, cuff, 1RM, note."""
    found = []
    if line.rest_seconds is not None:
        found.append(f"{line.rest_seconds} seconds of rest between sets")
    if line.tempo:
        found.append(f"tempo: {line.tempo}")
    if bend := range_words(line):
        found.append(bend)
    if line.one_rm_kg is not None:
        found.append(f"from a 1RM of {plain(line.one_rm_kg)} kg")
    found += [*filter(None, [cuff_words(line), line.note])]
    return found


def range_words(line: Line) -> str:
    """Return the range limit of the knee."""
    low, high = line.range_from, line.range_to
    if low is None and high is None:
        return ""
    if high is None:
        return f"knee bent {low} degrees or more"
    return f"knee bent from {low or 0} to {high} degrees"


def cuff_words(line: Line) -> str:
    """Return the pressure to set and the measured pressure that it comes from."""
    mmhg, side = line.occlusion_mmhg, line.occlusion_side
    measured_on = line.occlusion_measured_on
    if mmhg is None or measured_on is None:
        return ""
    occlusion = Occlusion(mmhg, side, measured_on, is_measured=True)
    found = cuff_pressure(occlusion=occlusion, percent=line.cuff_percent, side=side)
    if not isinstance(found, CuffPressure):
        return ""
    return (
        f"cuff at {found.mmhg} mmHg, {plain(found.percent)} % of the {mmhg} measured "
        f"on the {side} leg on {day(measured_on)}"
    )


def span_words(dose: Dose) -> str:
    """Return the library's dose with its spans: "3 sets, 8 to 12 repetitions"."""
    parts = [
        plural(dose.sets, "set") if dose.sets else "",
        f"{'-'.join(map(str, dose.scheme))} repetitions" if dose.scheme else "",
        _span(dose.reps, "repetitions"),
        f"held {_span(dose.hold_seconds, 'seconds')}" if dose.hold_seconds else "",
        _span(dose.minutes, "minutes"),
        _span(dose.rest_seconds, "seconds of rest"),
        _span(dose.per_week, "times a week"),
        dose.tempo,
    ]
    return ", ".join(filter(None, parts)) + "."


def _span(span: tuple[int, int] | None, unit: str) -> str:
    if span is None:
        return ""
    low, high = span
    return f"{low} {unit}" if low == high else f"{low} to {high} {unit}"
