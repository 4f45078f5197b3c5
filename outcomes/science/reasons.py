"""The plain words of each finding: one sentence or two, with numbers and dates."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from . import care_reasons, worse_reasons
from .evidence import pain_evidence, score_evidence, slope_evidence, upper_label
from .phrases import (
    Evidence,
    day_words,
    gain_words,
    number_words,
    pain_words,
    points_words,
    rate_words,
    signed_words,
)
from .progress import Progress
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
            f"{pain_words(progress.pain.latest[row])}. Progress is no longer judged."
        )
    return None


def title_for(rule: Rule, progress: Progress, row: int) -> str:
    """Return the title of one finding of one case."""
    if rule is Rule.NOT_SEEN:
        return care_reasons.not_seen_title(progress, row)
    if rule in _SOFTENED and progress.disagrees[row]:
        return f"{_SOFTENED[rule]}, but the patient reports better: review"
    return rule.title


def reason_for(rule: Rule, progress: Progress, row: int) -> Reason:
    """Return the words of one finding of one case."""
    sentence, evidence = _WORDS[rule](progress, row)
    return Reason(sentence=sentence, evidence=evidence)


def _target(progress: Progress, row: int) -> tuple[str, Evidence]:
    planned = progress.day_of_week(progress.policy.planned_weeks)[row]
    latest = day_words(progress.looks.track.latest_day[row])
    return (
        f"{_disagreement(progress, row)}The planned "
        f"{progress.policy.planned_weeks} weeks ended on {day_words(planned)}; the "
        f"latest score, {latest}, shows {gain_words(progress.looks.latest_gain[row])} "
        f"where {points_words(progress.courses.mcid[row])} would matter. "
        f"{_pain_words(progress, row)}",
        score_evidence(progress, row) + pain_evidence(progress, row),
    )


def _no_progress(progress: Progress, row: int) -> tuple[str, Evidence]:
    looks = progress.looks
    last = int(looks.track.count[row]) - 1
    earlier = int(looks.partner[row, last])
    days = looks.track.day[row]
    return (
        f"{_disagreement(progress, row)}Two scores in a "
        f"row, {day_words(days[earlier])} ({gain_words(looks.gain[row, earlier])}) "
        f"and {day_words(days[last])} ({gain_words(looks.gain[row, last])}), show "
        f"less than a gain of {points_words(progress.courses.mcid[row])}. "
        f"{_slow_words(progress, row)} {_pain_words(progress, row)}",
        score_evidence(progress, row)
        + slope_evidence(progress, row)
        + pain_evidence(progress, row),
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
        f"Too few scores for a recent slope; {gain_words(looks.gain[row, last])} in "
        f"{number_words(weeks)} weeks is less than {points_words(slow * weeks)}."
    )


def _disagreement(progress: Progress, row: int) -> str:
    """Return the words for a patient who reports otherwise, or nothing."""
    if not progress.disagrees[row]:
        return ""
    return (
        f"The global rating of {day_words(progress.rating_day[row])} is "
        f"{signed_words(progress.rating[row])}, while the scores say otherwise. "
    )


def _plateau(progress: Progress, row: int) -> tuple[str, Evidence]:
    course, track = progress.looks.course, progress.looks.track
    upper = track.at_latest(course.upper)[row]
    slope = track.at_latest(course.slope)[row]
    return (
        f"Over {int(track.count[row])} scores and "
        f"{number_words(track.at_latest(course.weeks)[row])} weeks the slope is "
        f"{rate_words(slope)}, at most {rate_words(upper)} allowing for error, less "
        f"than the {rate_words(progress.expected_rate[row])} that would be worthwhile. "
        "This excludes a worthwhile improvement; it does not exclude a slow fall.",
        (
            *score_evidence(progress, row),
            ("Slope of the whole course", rate_words(slope)),
            (upper_label(progress.policy), rate_words(upper)),
        ),
    )


def _pain_words(progress: Progress, row: int) -> str:
    pain, policy = progress.pain, progress.policy
    if pain.count[row] == 0:
        return "No worst pain is recorded."
    if pain.count[row] == 1:
        return "Worst pain is recorded once only, so its change is unknown."
    first, latest = number_words(pain.first[row]), number_words(pain.latest[row])
    course = (
        f"stayed at {latest}" if first == latest else f"went from {first} to {latest}"
    )
    return (
        f"Worst pain {course} of 10; a fall of {points_words(policy.pain_points)} and "
        f"of {number_words(policy.pain_percent)} % would count."
    )


# Findings that a patient who reports clear improvement contradicts.
_SOFTENED = {
    Rule.TARGET_NOT_REACHED: "Target not reached",
    Rule.NO_MEASURABLE_PROGRESS: "No measurable progress",
}

_WORDS: dict[Rule, Callable[[Progress, int], tuple[str, Evidence]]] = {
    Rule.RED_FLAG: care_reasons.red_flag,
    Rule.WORSENING: worse_reasons.worsening,
    Rule.ONE_LOW_LOOK: worse_reasons.one_low_look,
    Rule.TARGET_NOT_REACHED: _target,
    Rule.NO_MEASURABLE_PROGRESS: _no_progress,
    Rule.PLATEAU_SUPPORTED: _plateau,
    Rule.PAIN_ABOVE_LIMIT: care_reasons.above_limit,
    Rule.REMEASURE_OVERDUE: care_reasons.overdue,
    Rule.NOT_SEEN: care_reasons.not_seen,
    Rule.BASELINE_MISSING: care_reasons.baseline,
}
