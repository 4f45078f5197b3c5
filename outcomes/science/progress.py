"""What a caseload's courses show on one day, before any rule judges them.

Everything is an array with one row per case; tables have one column per look.
The definitions the clinical reference leaves open are assumptions of this
project:

* Baseline is the first look, from `baseline_days` before the opening on; its
  gain is 0. Gains are positive when better.
* Two looks count as two when they are `look_spacing_days` apart; the earlier one
  of such a pair is the nearest that is far enough back.
* The best gain so far at a look is the highest mean of two looks that count as
  two among the looks before it, and never below 0. The highest single look would
  be biased upwards by noise.
* The window of a look holds the looks of the `window_weeks` that end with it.
* First worst pain is the pain baseline. A first worst pain of 0 cannot be met.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .courses import NAN, Courses, Floats, Track, Whole, pick, track
from .policy import StallPolicy
from .slope import DAYS_A_WEEK, Lines, fit_lines, stack_lines

Flags = NDArray[np.bool_]

# Wide enough to absorb binary fractions (5.1 - 3.1), far below any score step.
_DECIMALS = 9


@dataclass(frozen=True, slots=True, kw_only=True)
class Looks:
    """The looks of each case with what each one adds: tables (cases, looks).

    `low` marks a gain an MDC or more below the best so far; `has_slope` a window
    with enough looks for a slope; `falling` one whose upper limit is below 0.
    """

    track: Track
    gain: Floats
    weeks: Floats
    partner: Whole
    best_gain: Floats
    window: Lines
    course: Lines
    low: Flags
    has_slope: Flags
    falling: Flags

    @property
    def latest_gain(self) -> Floats:
        """Return the gain at the latest look in points, nan without a look."""
        return self.track.at_latest(self.gain)

    @property
    def baseline_day(self) -> Floats:
        """Return the day of the first look, nan without a look."""
        return self.track.first_day


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """Everything the rules read about a caseload on one day."""

    on: float
    policy: StallPolicy
    courses: Courses
    looks: Looks
    pain: Track
    pain_met: Flags
    over_limit: Track
    expected_rate: Floats
    next_due: Floats
    last_seen: Floats
    rating_day: Floats
    rating: Floats
    at_goal: Flags
    no_room: Flags
    too_few: Flags

    @property
    def high_pain(self) -> Flags:
        """Return, per entry, whether worst pain is well above its first value."""
        rise = np.round(self.pain.value - self.pain.first[:, None], _DECIMALS)
        return rise >= self.policy.pain_rise

    @property
    def silent(self) -> Flags:
        """Return where progress needs no judgement: at goal, or no room to gain."""
        return self.at_goal | self.no_room

    @property
    def pain_risen(self) -> Flags:
        """Return where the latest worst pain is well above its first value."""
        risen: Flags = self.pain.at_latest(self.high_pain.astype(np.float64)) == 1
        return risen

    @property
    def disagrees(self) -> Flags:
        """Return where the patient reports clear improvement beside the scores."""
        return self.rating >= self.policy.groc_agrees

    @property
    def reports_worse(self) -> Flags:
        """Return where the patient reports clearly worse: the mirror of better."""
        return self.rating <= -self.policy.groc_agrees

    @property
    def says_worse(self) -> Flags:
        """Return where score, recent slope, pain or the patient says worse, if once."""
        at_latest = (self.looks.low | self.looks.falling).astype(np.float64)
        by_score = self.looks.track.at_latest(at_latest) == 1
        return by_score | self.pain_risen | self.reports_worse

    def day_of_week(self, weeks: float) -> Floats:
        """Return the day that lies `weeks` after each case's opening."""
        return self.courses.opened + weeks * DAYS_A_WEEK


def read_progress(courses: Courses, *, policy: StallPolicy, on: float) -> Progress:
    """Return what the courses show on a day; later entries are left out."""
    begin = courses.opened - policy.baseline_days
    looks = _read_looks(courses, policy, begin, on)
    pain = track(courses.pain_day, courses.pain_worst, since=begin, until=on)
    rating_day, rating = _clear_rating(courses, policy, looks.track, on)
    no_room = _no_room(courses, looks.track)
    at_goal = _at_goal(courses, policy, looks.track, pain)
    return Progress(
        on=on,
        policy=policy,
        courses=courses,
        looks=looks,
        pain=pain,
        pain_met=_pain_met(policy, pain),
        over_limit=_over_limit(courses, policy, on),
        expected_rate=courses.mcid / policy.planned_weeks,
        next_due=_next_due(courses, policy, looks.track),
        last_seen=_last_seen(courses, on),
        rating_day=rating_day,
        rating=rating,
        at_goal=at_goal,
        no_room=no_room,
        too_few=_too_few(courses, policy, looks, on) & ~at_goal & ~no_room,
    )


def _read_looks(
    courses: Courses, policy: StallPolicy, begin: Floats, on: float
) -> Looks:
    seen = track(courses.look_day, courses.look_score, since=begin, until=on)
    change = courses.sign[:, None] * (seen.value - seen.first[:, None])
    gain = np.round(change, _DECIMALS)
    partner = _partners(seen, policy.look_spacing_days)
    best_gain = _best_so_far(gain, partner)
    recent = policy.window_weeks * DAYS_A_WEEK
    window = _lines_by_look(seen, gain, courses.sem, policy.confidence_z, recent)
    has_slope = (window.looks >= policy.min_looks_slope) & ~np.isnan(window.slope)
    return Looks(
        track=seen,
        gain=gain,
        weeks=(seen.day - seen.first_day[:, None]) / DAYS_A_WEEK,
        partner=partner,
        best_gain=best_gain,
        window=window,
        course=_lines_by_look(seen, gain, courses.sem, policy.confidence_z, np.inf),
        low=gain <= best_gain - courses.mdc[:, None],
        has_slope=has_slope,
        falling=has_slope & (window.upper < 0),
    )


def _partners(looks: Track, spacing_days: float) -> Whole:
    """Return per look the column of the nearest earlier one far enough back, or -1."""
    partner = np.full(looks.day.shape, -1, dtype=np.int64)
    for column in range(1, looks.day.shape[1]):
        latest = looks.day[:, column, None] - spacing_days
        partner[:, column] = (looks.day[:, :column] <= latest).sum(axis=1) - 1
    return partner


def at_partner(table: Floats, partner: Whole) -> Floats:
    """Return per look the table's entry at its partner, nan where it has none."""
    taken = np.take_along_axis(table, np.maximum(partner, 0), axis=1)
    return np.where(partner < 0, NAN, taken)


def _best_so_far(gain: Floats, partner: Whole) -> Floats:
    """Return per look the highest mean of two earlier looks, at least 0."""
    of_two = (gain + at_partner(gain, partner)) / 2
    highest = np.fmax.accumulate(np.fmax(of_two, 0.0), axis=1)
    return np.hstack([np.zeros((len(gain), 1)), highest[:, :-1]])


def _lines_by_look(
    looks: Track, gain: Floats, sem: Floats, z: float, days: float
) -> Lines:
    """Return, per look, the line through the looks of the days that end with it."""
    columns = np.arange(looks.day.shape[1])
    lines = []
    for at in columns:
        end = looks.day[:, at, None]
        use = (looks.day <= end) & (looks.day >= end - days) & (columns <= at)
        lines.append(fit_lines(looks.day, gain, use=use, sem=sem, z=z))
    return stack_lines(lines)


def _pain_met(policy: StallPolicy, pain: Track) -> Flags:
    """Return where worst pain fell by enough points and enough per cent."""
    fall = np.round(pain.first - pain.latest, _DECIMALS)
    by_share = np.round(fall * 100 - policy.pain_percent * pain.first, _DECIMALS)
    return (pain.first > 0) & (fall >= policy.pain_points) & (by_share >= 0)


def _over_limit(courses: Courses, policy: StallPolicy, on: float) -> Track:
    """Return 1 or 0 per attended visit that recorded pain or the next morning.

    A visit that recorded neither is passed over, so a gap in the notes does not
    hide a limit that is passed again and again.
    """
    high = courses.pain_during > policy.pain_during_limit
    over = (high | (courses.flare == 1)).astype(np.float64)
    blank = np.isnan(courses.pain_during) & np.isnan(courses.flare)
    value = np.where(blank, NAN, over)
    return track(courses.attended_day, value, since=_ever(courses), until=on)


def _last_seen(courses: Courses, on: float) -> Floats:
    """Return the day of the last attended visit, or of the opening."""
    until = np.where(courses.attended_day <= on, courses.attended_day, -np.inf)
    last: Floats = until.max(axis=1, initial=-np.inf)
    return np.maximum(last, courses.opened)


def _ever(courses: Courses) -> Floats:
    return np.full(len(courses), -np.inf)


def _next_due(courses: Courses, policy: StallPolicy, looks: Track) -> Floats:
    """Return the first due day that no look has answered; the opening if none has.

    A look answers the due days up to `early_days` after it, and any look answers
    week 0.
    """
    due = courses.opened[:, None] + courses.due_weeks * DAYS_A_WEEK
    answered = np.fmax(looks.latest_day + policy.early_days, courses.opened)
    open_due = np.where(due > answered[:, None], due, np.inf)
    within = open_due.min(axis=1, initial=np.inf)
    step = np.where(courses.then_every > 0, courses.then_every, NAN) * DAYS_A_WEEK
    last = np.fmax.reduce(due, axis=1, initial=-np.inf)
    last = np.fmax(last, courses.opened)
    beyond = last + (np.floor((answered - last) / step) + 1) * step
    later = np.where(np.isfinite(within), within, beyond)
    return np.where(looks.count > 0, later, courses.opened)


def _too_few(courses: Courses, policy: StallPolicy, looks: Looks, on: float) -> Flags:
    """Return where progress is due for judgement but two later looks are missing."""
    due = on >= courses.opened + policy.first_review_weeks * DAYS_A_WEEK
    pair = pick(looks.partner.astype(np.float64), looks.track.count - 1)
    return due & ~(pair >= 1)


def _clear_rating(
    courses: Courses, policy: StallPolicy, looks: Track, on: float
) -> tuple[Floats, Floats]:
    """Return day and value of the last clear rating near the latest look.

    Clear is a rating far enough from 0, better or worse; the last one counts.
    """
    ratings = track(
        courses.groc_day, courses.groc_value, since=_ever(courses), until=on
    )
    near = np.abs(ratings.day - looks.latest_day[:, None]) <= policy.groc_days
    clear = near & (np.abs(ratings.value) >= policy.groc_agrees)
    columns = np.where(clear, np.arange(clear.shape[1]), -1).max(axis=1)
    return pick(ratings.day, columns), pick(ratings.value, columns)


def _at_goal(courses: Courses, policy: StallPolicy, looks: Track, pain: Track) -> Flags:
    reached = np.round(courses.sign * (looks.latest - courses.goal), _DECIMALS) >= 0
    return reached & (pain.latest <= policy.goal_pain)


def _no_room(courses: Courses, looks: Track) -> Flags:
    room = np.round(courses.sign * (courses.best_possible - looks.first), _DECIMALS)
    return room < courses.mcid
