"""The plain words of findings that say worse, with what agrees beside them."""

from __future__ import annotations

from .evidence import pain_evidence, score_evidence, slope_evidence
from .phrases import (
    Evidence,
    day_words,
    pain_words,
    points_words,
    rate_words,
    signed_words,
)
from .progress import Flags, Progress

# How the sentence of a single low score ends; which, depends on what agrees.
ALONE = "One low score on its own is often noise: re-measure soon."
NOT_ALONE = "Do not put it down to noise: re-measure soon."


def worsening(progress: Progress, row: int) -> tuple[str, Evidence]:
    parts, evidence = [], score_evidence(progress, row)
    if _held_twice(progress.looks.low, progress, row):
        parts.append(_two_low_scores(progress, row))
    if _held_twice(progress.looks.falling, progress, row):
        parts.append(_falling(progress, row))
        evidence += slope_evidence(progress, row)
    if _is_pain_high_twice(progress, row):
        parts.append(_high_pain(progress, row))
        evidence += pain_evidence(progress, row)
    return (
        " ".join(parts) + " Review, with the full red-flag screen.",
        evidence,
    )


def one_low_look(progress: Progress, row: int) -> tuple[str, Evidence]:
    agrees = _what_agrees(progress, row)
    said = (
        f"The latest score, {day_words(progress.looks.track.latest_day[row])}, lies "
        f"{points_words(_below_best(progress, row))} below the best so far, where "
        f"{points_words(progress.courses.mdc[row])} would be beyond error.",
        *agrees,
        NOT_ALONE if agrees else ALONE,
    )
    evidence = score_evidence(progress, row)
    if progress.pain_risen[row]:
        evidence += pain_evidence(progress, row)
    return " ".join(said), evidence


def _what_agrees(progress: Progress, row: int) -> tuple[str, ...]:
    """Say which of worst pain and the patient's own rating say worse as well."""
    said, pain = [], progress.pain
    if progress.pain_risen[row]:
        said.append(
            f"Worst pain says worse too: {pain_words(pain.latest[row])} on "
            f"{day_words(pain.latest_day[row])}, {pain_words(pain.first[row])} at "
            "first."
        )
    if progress.reports_worse[row]:
        said.append(
            "The patient reports clearly worse: a global rating of "
            f"{signed_words(progress.rating[row])} on "
            f"{day_words(progress.rating_day[row])}."
        )
    return tuple(said)


def _below_best(progress: Progress, row: int) -> float:
    """Return how far the latest score lies below the best gain so far, in points."""
    looks = progress.looks
    best = looks.track.at_latest(looks.best_gain)[row]
    return float(best - looks.latest_gain[row])


def _two_low_scores(progress: Progress, row: int) -> str:
    """Name the pair with which the low run began, and the latest where it went on."""
    looks = progress.looks
    days, last = looks.track.day[row], int(looks.track.count[row]) - 1
    second = _run_start(progress, row)
    first = int(looks.partner[row, second])
    latest = "" if second == last else f", {day_words(days[last])},"
    return (
        f"Two scores in a row, {day_words(days[first])} and {day_words(days[second])}, "
        f"lie {points_words(progress.courses.mdc[row])} or more below the best before "
        f"them; the latest{latest} is {points_words(_below_best(progress, row))} below "
        "the best so far."
    )


def _run_start(progress: Progress, row: int) -> int:
    """Return the column from which every score up to the latest is low in a pair."""
    low, partner = progress.looks.low[row], progress.looks.partner[row]
    column = int(progress.looks.track.count[row]) - 1
    while low[column - 1] and partner[column - 1] >= 0 and low[partner[column - 1]]:
        column -= 1
    return column


def _held_twice(table: Flags, progress: Progress, row: int) -> bool:
    """Return whether something holds at the latest score and the one it pairs with."""
    last = int(progress.looks.track.count[row]) - 1
    if last < 0:
        return False
    earlier = int(progress.looks.partner[row, last])
    return earlier >= 0 and bool(table[row, last] and table[row, earlier])


def _is_pain_high_twice(progress: Progress, row: int) -> bool:
    last = int(progress.pain.count[row])
    high = progress.high_pain[row, max(last - 2, 0) : last]
    return last >= 2 and bool(high.all())


def _falling(progress: Progress, row: int) -> str:
    last = int(progress.looks.track.count[row]) - 1
    window = progress.looks.window
    return (
        f"Over the last {progress.policy.window_weeks} weeks the score falls by "
        f"{rate_words(-window.slope[row, last])}, by at least "
        f"{rate_words(-window.upper[row, last])} allowing for error, at two scores in "
        "a row."
    )


def _high_pain(progress: Progress, row: int) -> str:
    pain, last = progress.pain, int(progress.pain.count[row]) - 1
    return (
        f"Worst pain was {pain_words(pain.value[row, last - 1])} on "
        f"{day_words(pain.day[row, last - 1])} and "
        f"{pain_words(pain.value[row, last])} on {day_words(pain.day[row, last])}, "
        f"{points_words(progress.policy.pain_rise)} or more above the first value, "
        f"{pain_words(pain.first[row])}."
    )
