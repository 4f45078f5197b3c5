"""Whether two scores may be compared, over which items, and by which thresholds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from .measurement_error import reaches
from .measures import Direction, Measure
from .scoring import Answer
from .thresholds import Kind, Threshold, chosen
from .verdicts import day, number

# The thresholds of the PSFS average need this many activities rated both times;
# with fewer, those of a single activity hold (project assumption).
COMMON_FOR_AVERAGE = 3


@dataclass(frozen=True, slots=True)
class Point:
    """One scored assessment. `answers` are needed where the patient names items."""

    value: float
    on: date
    edition: int
    mode: str
    language: str
    wording: str = ""
    answers: Mapping[str, Answer | None] | None = None


@dataclass(frozen=True, slots=True)
class Pair:
    """Two comparable scores: where they began, the gain, and what it is held to."""

    measure: Measure
    better: Direction
    before: float
    gain: float
    mdc: Threshold
    mcid: Threshold
    notes: tuple[str, ...]


def reason_against(measure: Measure, baseline: Point, current: Point) -> str:
    """Why the two must not be compared, or an empty text."""
    if current.on < baseline.on:
        raise ValueError("The current score is older than the baseline.")
    if measure.better is None:
        return "This rating is itself a judgement of change: it has no baseline."
    if current.on == baseline.on:
        return f"One score so far, on {day(baseline.on)}: nothing to compare it with."
    if current.edition != baseline.edition:
        return (
            f"The two scores come from different editions of the scoring key "
            f"({baseline.edition}, then {current.edition}) and must not be compared."
        )
    if current.language != baseline.language:
        return (
            f"The two were answered in different languages ({baseline.language}, "
            f"then {current.language}) and must not be compared."
        )
    if measure.has_own_items and not _common(baseline, current):
        return "No activity was rated at both times."
    return ""


def compare(
    measure: Measure,
    baseline: Point,
    current: Point,
    *,
    mdc: float | None,
    mcid: float | None,
    words: Mapping[str, str],
) -> Pair:
    """Set two scores side by side; call only where `reason_against` is empty."""
    beside = _conditions(baseline, current)
    if measure.has_own_items:
        return _compare_activities(
            measure,
            baseline,
            current,
            mdc=mdc,
            mcid=mcid,
            words=words,
            beside=beside,
        )
    better = _direction(measure)
    return Pair(
        measure=measure,
        better=better,
        before=baseline.value,
        gain=better.gain(baseline.value, current.value),
        mdc=chosen(measure.thresholds, Kind.MDC, mdc, applies_to="total"),
        mcid=chosen(measure.thresholds, Kind.MCID, mcid, applies_to="total"),
        notes=beside,
    )


def _compare_activities(
    measure: Measure,
    baseline: Point,
    current: Point,
    *,
    mdc: float | None,
    mcid: float | None,
    words: Mapping[str, str],
    beside: tuple[str, ...],
) -> Pair:
    """Compare the means of the activities rated both times (Stratford 1995)."""
    common = _common(baseline, current)
    is_average = len(common) >= COMMON_FOR_AVERAGE
    part = "average" if is_average else "single"
    mdc, mcid = (mdc, mcid) if is_average else (None, None)
    better = _direction(measure)
    gains = {key: better.gain(*ratings) for key, ratings in common.items()}
    one = chosen(measure.thresholds, Kind.MDC, None, applies_to="single")
    return Pair(
        measure=measure,
        better=better,
        before=sum(first for first, _ in common.values()) / len(common),
        gain=sum(gains.values()) / len(common),
        mdc=chosen(measure.thresholds, Kind.MDC, mdc, applies_to=part),
        mcid=chosen(measure.thresholds, Kind.MCID, mcid, applies_to=part),
        notes=(*_scope(baseline, current), *_single_moves(gains, one, words), *beside),
    )


def _common(baseline: Point, current: Point) -> dict[str, tuple[float, float]]:
    """First and present rating of each activity that has both."""
    first, present = _ratings(baseline), _ratings(current)
    return {key: (first[key], present[key]) for key in first if key in present}


def _ratings(point: Point) -> dict[str, float]:
    answers = point.answers or {}
    return {k: float(given) for k, given in answers.items() if given is not None}


def _scope(baseline: Point, current: Point) -> tuple[str, ...]:
    """Say where the comparison covers less than what was rated."""
    common = _common(baseline, current)
    notes = []
    if len(common) < max(len(_ratings(baseline)), len(_ratings(current))):
        notes.append(f"Only activities rated both times are compared: {len(common)}.")
    if len(common) < COMMON_FOR_AVERAGE:
        notes.append(
            f"Fewer than {COMMON_FOR_AVERAGE} activities were rated both times, so "
            "the limits of a single activity hold."
        )
    return tuple(notes)


def _single_moves(
    gains: Mapping[str, float], mdc: Threshold, words: Mapping[str, str]
) -> tuple[str, ...]:
    """Name each activity that alone moved beyond the error of one activity."""
    return tuple(
        f"{_activity(key, words)} alone: {'better' if gain > 0 else 'worse'} by "
        f"{number(abs(gain))}, the error of one activity being {number(mdc.value)}."
        for key, gain in gains.items()
        if reaches(abs(gain), mdc.value)
    )


def _activity(key: str, words: Mapping[str, str]) -> str:
    """The patient's own words for an activity, or its number without them."""
    return f"“{words[key]}”" if key in words else f"Activity {key}"


def rates_the_same(baseline: Point, current: Point) -> bool:
    """Whether the same activities were rated both times."""
    return _ratings(baseline).keys() == _ratings(current).keys()


def _conditions(baseline: Point, current: Point) -> tuple[str, ...]:
    """Say what differed in how the two were taken; the verdict stands."""
    notes = []
    if current.mode != baseline.mode:
        was, now = (mode.replace("_", " ") for mode in (baseline.mode, current.mode))
        notes.append(f"Answered differently: {was}, then {now}.")
    if current.wording != baseline.wording:
        notes.append("The two were answered on different wordings.")
    return tuple(notes)


def _direction(measure: Measure) -> Direction:
    if measure.better is None:
        raise ValueError(f"{measure.short_name} has no direction.")
    return measure.better
