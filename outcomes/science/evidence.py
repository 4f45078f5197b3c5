"""The numbers that a finding rests on, as labelled values."""

from __future__ import annotations

from statistics import NormalDist

import numpy as np

from .phrases import (
    Evidence,
    day_words,
    gain_words,
    number_words,
    pain_words,
    points_words,
    rate_words,
)
from .policy import StallPolicy
from .progress import Progress


def score_evidence(progress: Progress, row: int) -> Evidence:
    """Return first and latest score, the change, and the best gain so far."""
    looks = progress.looks
    if looks.track.count[row] == 0:
        return ()
    first, latest = looks.track.first[row], looks.track.latest[row]
    return (
        ("Baseline", _dated(points_words(first), looks.track.first_day[row])),
        ("Latest", _dated(points_words(latest), looks.track.latest_day[row])),
        ("Change", gain_words(looks.latest_gain[row])),
        (
            "Best gain so far",
            points_words(looks.track.at_latest(looks.best_gain)[row]),
        ),
    )


def slope_evidence(progress: Progress, row: int) -> Evidence:
    """Return the slope of the recent window with its limit; nothing without one."""
    window, track = progress.looks.window, progress.looks.track
    slope = track.at_latest(window.slope)[row]
    if np.isnan(slope):
        return ()
    return (
        ("Recent slope", rate_words(slope)),
        (upper_label(progress.policy), rate_words(track.at_latest(window.upper)[row])),
        ("Scores in the window", str(int(window.looks[row, track.count[row] - 1]))),
    )


def pain_evidence(progress: Progress, row: int) -> Evidence:
    """Return first and latest worst pain; nothing without any."""
    pain = progress.pain
    if pain.count[row] == 0:
        return ()
    first, latest = pain_words(pain.first[row]), pain_words(pain.latest[row])
    return (
        ("First worst pain", _dated(first, pain.first_day[row])),
        ("Latest worst pain", _dated(latest, pain.latest_day[row])),
    )


def upper_label(policy: StallPolicy) -> str:
    """Name the one-sided upper limit with the confidence that the policy asks for."""
    level = 100 * NormalDist().cdf(policy.confidence_z)
    return f"Upper {number_words(level)} % limit of the slope"


def _dated(words: str, day: float) -> str:
    return f"{words} on {day_words(day)}"
