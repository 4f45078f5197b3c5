"""The ten review rules, each over a whole caseload at once.

Source: section 10.2 of the project's clinical reference. A rule reads the
progress of a caseload on one day and returns, per case, whether it holds and
since which day. "Since" is the first day of the unbroken stretch up to now on
which the entries behind the finding were all there.
"""

from __future__ import annotations

from collections.abc import Callable
from enum import IntEnum

import numpy as np

from .courses import NAN, Floats, Track, Whole, pick
from .progress import Flags, Progress, at_partner
from .slope import excludes_worthwhile

Judgement = tuple[Flags, Floats]


class Rule(IntEnum):
    """A finding's rank, 1 first, with its key and title."""

    title: str

    def __new__(cls, rank: int, title: str) -> Rule:
        """Make a member that is its rank and knows its title."""
        member = int.__new__(cls, rank)
        member._value_ = rank
        member.title = title
        return member

    RED_FLAG = 1, "Red-flag answer awaits a decision"
    WORSENING = 2, "Worsening, review"
    ONE_LOW_LOOK = 3, "One low score, re-measure soon"
    TARGET_NOT_REACHED = 4, "Target not reached by the planned time, review"
    NO_MEASURABLE_PROGRESS = 5, "No measurable progress, review"
    PLATEAU_SUPPORTED = 6, "Plateau supported, review"
    PAIN_ABOVE_LIMIT = 7, "Pain above the agreed limit"
    REMEASURE_OVERDUE = 8, "Re-measure overdue"
    NOT_SEEN = 9, "Not seen"
    BASELINE_MISSING = 10, "Baseline missing or late"

    @property
    def rank(self) -> int:
        """Return the place in the order of findings, 1 first."""
        return int(self)

    @property
    def key(self) -> str:
        """Return the rule's name in records and files."""
        return self.name.lower()


def red_flag(progress: Progress) -> Judgement:
    """Hold where a positive red-flag answer has no decision yet."""
    day = progress.courses.red_flag_day
    return day <= progress.on, day


def worsening(progress: Progress) -> Judgement:
    """Hold where scores, slope or worst pain are worse twice running."""
    looks, pain = progress.looks, progress.pain
    sinces = (
        _run_since(_twice(looks.low, progress), looks.track),
        _run_since(_twice(looks.falling, progress), looks.track),
        _run_since(_twice_running(progress.high_pain), pain),
    )
    since = np.fmin(np.fmin(sinces[0], sinces[1]), sinces[2])
    return ~np.isnan(since), since


def one_low_look(progress: Progress) -> Judgement:
    """Hold where the latest look is an MDC below the best gain, not yet twice."""
    since = _run_since(progress.looks.low, progress.looks.track)
    is_worse, _ = worsening(progress)
    return ~np.isnan(since) & ~is_worse, since


def target_not_reached(progress: Progress) -> Judgement:
    """Hold from the planned weeks on where neither score nor pain got there."""
    planned = progress.day_of_week(progress.policy.planned_weeks)
    run = _run_since(_below_important(progress), progress.looks.track)
    holds = (progress.on >= planned) & ~np.isnan(run) & ~progress.pain_met
    return holds, np.maximum(planned, run)


def no_measurable_progress(progress: Progress) -> Judgement:
    """Hold where two later looks lack an important gain and the course is slow."""
    first = progress.day_of_week(progress.policy.first_review_weeks)
    small = _below_important(progress)
    twice = _twice(small, progress) & _is_slow(progress)
    run = _run_since(twice, progress.looks.track)
    holds = (progress.on >= first) & ~np.isnan(run) & ~progress.pain_met
    return holds, np.maximum(first, run)


def plateau_supported(progress: Progress) -> Judgement:
    """Hold where the whole course excludes a worthwhile rate and nothing says worse.

    The clinical reference allows the word only where the evidence excludes a
    worthwhile improvement. Read here: that is needed and not enough. A falling
    course excludes improvement too, and nobody would call it level; so a single
    low score, a falling recent slope, risen worst pain or a patient who reports
    clearly worse takes the word away. The limits of the whole course include 0.
    """
    policy = progress.policy
    flat = excludes_worthwhile(
        progress.looks.course,
        worthwhile=progress.expected_rate[:, None],
        min_looks=policy.min_looks_plateau,
        min_weeks=policy.min_weeks_plateau,
    )
    since = _run_since(flat, progress.looks.track)
    return ~np.isnan(since) & ~progress.says_worse, since


def pain_above_limit(progress: Progress) -> Judgement:
    """Hold where two recorded visits running passed the limit or brought a flare."""
    over = progress.over_limit
    since = _run_since(_twice_running(over.value == 1), over)
    return ~np.isnan(since), since


def remeasure_overdue(progress: Progress) -> Judgement:
    """Hold where the next due date has passed by more than the allowed days."""
    last_day = progress.next_due + progress.policy.overdue_days
    return progress.on > last_day, last_day + 1


def not_seen(progress: Progress) -> Judgement:
    """Hold where nobody comes: no visit and none planned, or a planned one missed."""
    policy, planned = progress.policy, progress.courses.planned_day
    long_gap = progress.last_seen + policy.not_seen_days
    none_ahead = ~(planned >= progress.on)
    away = (long_gap < progress.on) & none_ahead
    away_since = np.fmax(long_gap, planned) + 1
    missed_by = planned + policy.planned_missed_days
    missed = (missed_by < progress.on) & (progress.last_seen < planned)
    since = np.fmin(
        np.where(away, away_since, NAN), np.where(missed, missed_by + 1, NAN)
    )
    return away | missed, since


def baseline_missing(progress: Progress) -> Judgement:
    """Hold where no look lies within the allowed days around the opening."""
    last_day = progress.courses.opened + progress.policy.baseline_days
    in_time = progress.looks.baseline_day <= last_day
    return (progress.on > last_day) & ~in_time, last_day + 1


RULES: tuple[tuple[Rule, Callable[[Progress], Judgement]], ...] = (
    (Rule.RED_FLAG, red_flag),
    (Rule.WORSENING, worsening),
    (Rule.ONE_LOW_LOOK, one_low_look),
    (Rule.TARGET_NOT_REACHED, target_not_reached),
    (Rule.NO_MEASURABLE_PROGRESS, no_measurable_progress),
    (Rule.PLATEAU_SUPPORTED, plateau_supported),
    (Rule.PAIN_ABOVE_LIMIT, pain_above_limit),
    (Rule.REMEASURE_OVERDUE, remeasure_overdue),
    (Rule.NOT_SEEN, not_seen),
    (Rule.BASELINE_MISSING, baseline_missing),
)

# Nothing to judge at goal or without room for an important gain.
SILENCED = frozenset(
    {Rule.TARGET_NOT_REACHED, Rule.NO_MEASURABLE_PROGRESS, Rule.PLATEAU_SUPPORTED}
)
# No advice on progress or load while a red-flag answer stands undecided.
WITHHELD = SILENCED | {Rule.PAIN_ABOVE_LIMIT}


def _below_important(progress: Progress) -> Flags:
    """Return, per look after the baseline, whether its gain is below the MCID."""
    small = progress.looks.gain < progress.courses.mcid[:, None]
    small[:, 0] = False
    return small


def _is_slow(progress: Progress) -> Flags:
    """Return, per look, whether its window is slower than the share allowed.

    Without enough looks for a slope, the gain since the baseline is held against
    the same share of the expected rate times the weeks since the baseline.
    """
    looks, policy = progress.looks, progress.policy
    slow_rate = policy.slow_share * progress.expected_rate[:, None]
    by_slope = looks.window.slope < slow_rate
    by_total = looks.gain < slow_rate * looks.weeks
    return np.where(looks.has_slope, by_slope, by_total)


def _twice(holds: Flags, progress: Progress) -> Flags:
    """Return, per look, whether it holds there and at the look it pairs with."""
    at_pair = at_partner(holds.astype(np.float64), progress.looks.partner)
    both: Flags = holds & (at_pair == 1)
    return both


def _twice_running(holds: Flags) -> Flags:
    """Return, per entry, whether it and the entry before it both hold."""
    before = np.hstack([np.zeros((len(holds), 1), dtype=np.bool_), holds[:, :-1]])
    return holds & before


def _run_since(holds: Flags, entries: Track) -> Floats:
    """Return the day of the first entry of the run up to the latest, or nan."""
    start: Whole = np.full(len(holds), -1, dtype=np.int64)
    for column in range(holds.shape[1]):
        going_on = np.where(start < 0, column, start)
        now = np.where(holds[:, column], going_on, -1)
        start = np.where(column < entries.count, now, start)
    return pick(entries.day, start)
