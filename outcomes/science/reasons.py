"""The plain words of each finding: one sentence or two, with numbers and dates."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from . import care_reasons
from .phrases import (
    Evidence,
    day_words,
    gain_words,
    number_words,
    points_words,
    rate_words,
)
from .progress import Flags, Progress
from .rules import Rule


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a finding holds, in words, with the numbers it rests on."""

    sentence: str
    evidence: Evidence


def silent_words(progress: Progress, row: int) -> str | None:
    """Return why progress is not judged for a case, or None where it is."""
    if progress.no_room[row]:
        return (
            f"The baseline of {points_words(progress.looks.track.first[row])} leaves "
            f"no room for a gain of {points_words(progress.courses.mcid[row])}: an "
            "important change is not attainable on this measure, so progress is not "
            "judged by it."
        )
    if progress.at_goal[row]:
        return (
            f"At goal: the latest score of "
            f"{points_words(progress.looks.track.latest[row])} meets "
            f"{points_words(progress.courses.goal[row])}, with worst pain "
            f"{number_words(progress.pain.latest[row])} of 10. Progress is no longer "
            "judged."
        )
    return None


def reason_for(rule: Rule, progress: Progress, row: int) -> Reason:
    """Return the words of one finding of one case."""
    sentence, evidence = _WORDS[rule](progress, row)
    return Reason(sentence=sentence, evidence=evidence)


def _worsening(progress: Progress, row: int) -> tuple[str, Evidence]:
    parts, evidence = [], _score_evidence(progress, row)
    if _held_twice(progress.looks.low, progress, row):
        parts.append(_two_low_looks(progress, row))
    if _held_twice(progress.looks.falling, progress, row):
        parts.append(_falling(progress, row))
        evidence += _slope_evidence(progress, row)
    if _is_pain_high_twice(progress, row):
        parts.append(_high_pain(progress, row))
        evidence += _pain_evidence(progress, row)
    return (
        " ".join(parts) + " Review, with the full red-flag screen.",
        evidence,
    )


def _held_twice(table: Flags, progress: Progress, row: int) -> bool:
    """Return whether something holds at the latest look and the one it pairs with."""
    last = int(progress.looks.track.count[row]) - 1
    if last < 0:
        return False
    earlier = int(progress.looks.partner[row, last])
    return earlier >= 0 and bool(table[row, last] and table[row, earlier])


def _is_pain_high_twice(progress: Progress, row: int) -> bool:
    pain, last = progress.pain, int(progress.pain.count[row])
    rise = pain.value[row, max(last - 2, 0) : last] - pain.first[row]
    return last >= 2 and bool((rise.round(9) >= progress.policy.pain_rise).all())


def _two_low_looks(progress: Progress, row: int) -> str:
    looks = progress.looks
    last = int(looks.track.count[row]) - 1
    earlier = int(looks.partner[row, last])
    days = looks.track.day[row]
    return (
        f"Two looks running, {day_words(days[earlier])} and {day_words(days[last])}, "
        f"lie {points_words(progress.courses.mdc[row])} or more below the best gain "
        f"so far: {gain_words(looks.gain[row, last])} now, against a best of "
        f"{points_words(looks.best_gain[row, last])}."
    )


def _falling(progress: Progress, row: int) -> str:
    last = int(progress.looks.track.count[row]) - 1
    window = progress.looks.window
    return (
        f"Over the last {progress.policy.window_weeks} weeks the score falls by "
        f"{rate_words(-window.slope[row, last])}, by at least "
        f"{rate_words(-window.upper[row, last])} allowing for error, at two looks "
        "running."
    )


def _high_pain(progress: Progress, row: int) -> str:
    pain, last = progress.pain, int(progress.pain.count[row]) - 1
    return (
        f"Worst pain was {number_words(pain.value[row, last - 1])} on "
        f"{day_words(pain.day[row, last - 1])} and "
        f"{number_words(pain.value[row, last])} on {day_words(pain.day[row, last])}, "
        f"{points_words(progress.policy.pain_rise)} or more above the first value, "
        f"{number_words(pain.first[row])}."
    )


def _one_low_look(progress: Progress, row: int) -> tuple[str, Evidence]:
    looks = progress.looks
    best = looks.track.at_latest(looks.best_gain)[row]
    return (
        f"The latest look, {day_words(looks.track.latest_day[row])}, shows "
        f"{gain_words(looks.latest_gain[row])}, against a best of "
        f"{points_words(best)} so far; a drop of "
        f"{points_words(progress.courses.mdc[row])} or more counts. One low look is "
        "often noise: re-measure soon.",
        _score_evidence(progress, row),
    )


def _target(progress: Progress, row: int) -> tuple[str, Evidence]:
    planned = progress.day_of_week(progress.policy.planned_weeks)[row]
    latest = day_words(progress.looks.track.latest_day[row])
    return (
        f"{_disagreement(progress, row)}The planned "
        f"{progress.policy.planned_weeks} weeks ended on {day_words(planned)}; the "
        f"latest look, {latest}, shows {gain_words(progress.looks.latest_gain[row])} "
        f"where {points_words(progress.courses.mcid[row])} would matter. "
        f"{_pain_words(progress, row)}",
        _score_evidence(progress, row) + _pain_evidence(progress, row),
    )


def _no_progress(progress: Progress, row: int) -> tuple[str, Evidence]:
    looks = progress.looks
    last = int(looks.track.count[row]) - 1
    earlier = int(looks.partner[row, last])
    days = looks.track.day[row]
    return (
        f"{_disagreement(progress, row)}Two looks "
        f"running, {day_words(days[earlier])} ({gain_words(looks.gain[row, earlier])}) "
        f"and {day_words(days[last])} ({gain_words(looks.gain[row, last])}), stay "
        f"below {points_words(progress.courses.mcid[row])}. "
        f"{_slow_words(progress, row)} {_pain_words(progress, row)}",
        _score_evidence(progress, row)
        + _slope_evidence(progress, row)
        + _pain_evidence(progress, row),
    )


def _slow_words(progress: Progress, row: int) -> str:
    looks = progress.looks
    last = int(looks.track.count[row]) - 1
    slow = progress.policy.slow_share * progress.expected_rate[row]
    if looks.has_slope[row, last]:
        return (
            f"The slope over the last {progress.policy.window_weeks} weeks is "
            f"{rate_words(looks.window.slope[row, last])}, below {rate_words(slow)}."
        )
    weeks = looks.weeks[row, last]
    return (
        f"Too few looks for a recent slope; {gain_words(looks.gain[row, last])} in "
        f"{number_words(weeks)} weeks is less than {points_words(slow * weeks)}."
    )


def _disagreement(progress: Progress, row: int) -> str:
    """Return the words for a patient who reports otherwise, or nothing."""
    if not progress.disagrees[row]:
        return ""
    return (
        f"The global rating of {day_words(progress.rating_day[row])} is "
        f"{progress.rating[row]:+g}, while the scores say otherwise. "
    )


def _plateau(progress: Progress, row: int) -> tuple[str, Evidence]:
    course, track = progress.looks.course, progress.looks.track
    upper = track.at_latest(course.upper)[row]
    slope = track.at_latest(course.slope)[row]
    return (
        f"Over {int(track.count[row])} looks and "
        f"{number_words(track.at_latest(course.weeks)[row])} weeks the slope is "
        f"{rate_words(slope)}, at most {rate_words(upper)} allowing for error, less "
        f"than the {rate_words(progress.expected_rate[row])} that would be worthwhile. "
        "This excludes worthwhile improvement, not worsening.",
        (
            *_score_evidence(progress, row),
            ("Slope of the whole course", rate_words(slope)),
            ("Upper limit", rate_words(upper)),
        ),
    )


def _pain_words(progress: Progress, row: int) -> str:
    pain, policy = progress.pain, progress.policy
    if pain.count[row] == 0:
        return "No worst pain is recorded."
    if pain.count[row] == 1:
        return "Worst pain is recorded once only, so its change is unknown."
    return (
        f"Worst pain went from {number_words(pain.first[row])} to "
        f"{number_words(pain.latest[row])}; a fall of "
        f"{points_words(policy.pain_points)} and of "
        f"{number_words(policy.pain_percent)} % would count."
    )


def _score_evidence(progress: Progress, row: int) -> Evidence:
    looks = progress.looks
    if looks.track.count[row] == 0:
        return ()
    return (
        ("Baseline", _dated(looks.track.first[row], looks.track.first_day[row])),
        ("Latest", _dated(looks.track.latest[row], looks.track.latest_day[row])),
        ("Change", gain_words(looks.latest_gain[row])),
        (
            "Best gain so far",
            points_words(looks.track.at_latest(looks.best_gain)[row]),
        ),
    )


def _slope_evidence(progress: Progress, row: int) -> Evidence:
    window, track = progress.looks.window, progress.looks.track
    slope = track.at_latest(window.slope)[row]
    if np.isnan(slope):
        return ()
    return (
        ("Recent slope", rate_words(slope)),
        ("Upper limit", rate_words(track.at_latest(window.upper)[row])),
        ("Looks in the window", str(int(window.looks[row, track.count[row] - 1]))),
    )


def _pain_evidence(progress: Progress, row: int) -> Evidence:
    pain = progress.pain
    if pain.count[row] == 0:
        return ()
    return (
        ("First worst pain", _dated(pain.first[row], pain.first_day[row])),
        ("Latest worst pain", _dated(pain.latest[row], pain.latest_day[row])),
    )


def _dated(value: float, day: float) -> str:
    return f"{points_words(value)} on {day_words(day)}"


_WORDS: dict[Rule, Callable[[Progress, int], tuple[str, Evidence]]] = {
    Rule.RED_FLAG: care_reasons.red_flag,
    Rule.WORSENING: _worsening,
    Rule.ONE_LOW_LOOK: _one_low_look,
    Rule.TARGET_NOT_REACHED: _target,
    Rule.NO_MEASURABLE_PROGRESS: _no_progress,
    Rule.PLATEAU_SUPPORTED: _plateau,
    Rule.PAIN_ABOVE_LIMIT: care_reasons.above_limit,
    Rule.REMEASURE_OVERDUE: care_reasons.overdue,
    Rule.NOT_SEEN: care_reasons.not_seen,
    Rule.BASELINE_MISSING: care_reasons.baseline,
}
