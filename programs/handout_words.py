"""A line of a programme in plain words for the patient."""

from __future__ import annotations

from collections.abc import Iterator

from clinic.models import Episode
from clinic.templatetags.clinic_format import day, plural

from .dosing.flow_restriction import CuffPressure, Occlusion, cuff_pressure
from .dosing.limits import DosingPolicy
from .dosing.no_estimate import plain
from .library_entries import Exercise, Kind
from .line_rules import limb_of
from .lines import Line
from .models import Prescription
from .plans import Limit

PAIN_RULE = "education_pain_rule"
MEMORY_MARK = "(from memory)"  # a library's mark, which is not the patient's business
# The stop signs of the cuff stand in a box of their own, in the words of the screen.
FLOW_CARE = (
    "Only with the cuff and the pressure that your clinic has set for you.",
    "Somebody stays beside you: the leg tires quickly.",
)
WORDS_A_WEEK = {1: "Once a week", 2: "Twice a week", 7: "Every day", 14: "Twice a day"}


def how_of(line: Line) -> tuple[str, ...]:
    """Return how it is done, sentence by sentence or paragraph by paragraph."""
    entry = line.entry
    if isinstance(entry, Exercise):
        # The library's sentence holds fixed numbers; the sheet shows the clinic's own.
        is_pain_rule = entry.key == PAIN_RULE
        return ("See “How much pain is all right”.",) if is_pain_rule else entry.how
    return tuple(entry.how.split("\n")) if entry else ()


def cautions_of(line: Line) -> tuple[str, ...]:
    """Return what to take care of; under a cuff the same for every exercise."""
    entry = line.entry
    own = entry.cautions if entry and not isinstance(entry, Exercise) else ""
    own_lines = tuple(each for each in own.split("\n") if each.strip())
    if line.is_flow_restricted:
        return FLOW_CARE + own_lines
    return entry.cautions if isinstance(entry, Exercise) else own_lines


def dose_of(line: Line, episode: Episode) -> str:
    """Return how many and on which side: "3 sets of 10, left leg"."""
    count = _count(line)
    side = _side(line, episode)
    return ", ".join(part for part in (count, side) if part)


def how_often(line: Line) -> str:
    """Return how often in plain words; nothing where it is not set."""
    times = line.times_a_week
    if times is None:
        return ""
    if times > 7 and times % 7 == 0:
        return WORDS_A_WEEK.get(times, f"{times // 7} times a day")
    return WORDS_A_WEEK.get(times, f"{times} times a week")


def facts_of(line: Line, *, episode: Episode, policy: DosingPolicy) -> tuple[str, ...]:
    """Return the load, the rest, the speed, the bend and the cuff, each a sentence."""
    found = [_load(line), *_manner(line)]
    if line.cuff_percent is not None:
        found += _cuff(line, episode, policy)
    return tuple(filter(None, found))


def limit_words(limit: Limit | None) -> str:
    """Return until when tape or orthoses are used before somebody looks again."""
    if limit is None:
        return ""
    if limit.is_past:
        return "Have your clinic look at this again before you go on with it."
    weeks = plural(limit.weeks, "week")
    until = day(limit.ends_on).replace(" ", "\N{NO-BREAK SPACE}")
    return f"For {weeks} at first: have your clinic look at it by {until}."


def _count(line: Line) -> str:
    if line.scheme:
        first, *later = line.scheme
        return ", ".join([f"{first} times", *(f"then {each}" for each in later)])
    hold = (
        f"hold for {plural(line.hold_seconds, 'second')}" if line.hold_seconds else ""
    )
    if line.repetitions:
        sets = plural(line.sets, "set") + " of " if line.sets else ""
        each = f", {hold} each time" if hold else ""
        unit = "" if sets else " times"
        return f"{sets}{line.repetitions}{unit}{each}"
    if hold:
        times = f", {plural(line.sets, 'time')}" if line.sets else ""
        return hold[0].upper() + hold[1:] + times
    if line.minutes:
        times = f"{line.sets} times " if line.sets and line.sets > 1 else ""
        return times + plural(line.minutes, "minute")
    return ""


def _side(line: Line, episode: Episode) -> str:
    entry = line.entry
    kind = entry.kind if isinstance(entry, Exercise) else Kind.EXERCISE
    if kind in (Kind.RUNNING, Kind.EDUCATION):
        return ""
    limb = limb_of(line, episode)
    if kind is Kind.ADJUNCT:
        return f"{limb.capitalize()} side" if limb else "Both sides"
    return f"{limb} leg" if limb else "both sides"


def _load(line: Line) -> str:
    kinds = Prescription.Load
    if line.load_kg is not None:
        return f"Weight: {plain(line.load_kg, decimals=2)} kg."
    if line.load == kinds.PERCENT:
        return "Weight: as set with you in the clinic."
    if line.load == kinds.BAND:
        return f"Band: {line.band.strip()}."
    is_counted = bool(line.repetitions or line.hold_seconds or line.scheme)
    return "No added weight." if line.load == kinds.BODY and is_counted else ""


def _manner(line: Line) -> Iterator[str]:
    if line.rest_seconds:
        yield f"Rest {_time(line.rest_seconds)} between sets."
    if tempo := line.tempo.replace(MEMORY_MARK, "").strip():
        yield f"Speed: {tempo}."
    low, high = line.range_from, line.range_to
    if high is not None:
        start = "straight" if not low else f"{low} degrees"
        yield f"Bend the knee from {start} to {high} degrees, no further."
    elif low:
        yield f"Keep the knee bent by {low} degrees or more."


def _cuff(line: Line, episode: Episode, policy: DosingPolicy) -> Iterator[str]:
    limb, measured_on = limb_of(line, episode), line.occlusion_measured_on
    occlusion = None
    if line.occlusion_mmhg is not None and measured_on is not None:
        side = line.occlusion_side
        occlusion = Occlusion(line.occlusion_mmhg, side, measured_on, is_measured=True)
    found = cuff_pressure(
        occlusion=occlusion, percent=line.cuff_percent, side=limb, policy=policy
    )
    if isinstance(found, CuffPressure):
        yield f"Cuff: {found.mmhg} mmHg, {limb} leg only."
    yield f"Let the air out before {policy.flow_minutes} minutes have passed."


def _time(seconds: int) -> str:
    whole, left = divmod(seconds, 60)
    return plural(seconds, "second") if left or not whole else plural(whole, "minute")
