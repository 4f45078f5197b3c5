"""One invented course: from a story to dated visits with pain, answers and notes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property
from itertools import pairwise
from random import Random

from .answers import answers_for, ratings_for
from .notes import END, Told, note_for
from .plans import FormPlan, VisitPlan
from .stories import LOOK_WEEKS, VISIT_WEEKS, Story, Twist

# How the other measures follow the AKPS: share of its gain, and where they start.
# KOOS-PF 50 to 65 at entry (from memory); the rest are assumptions of the demo.
FOLLOWS = {"koos_pf": 1.7, "lefs": 1.0, "psfs": 0.25}
FEELS_BETTER = 5  # of 7, well above the clear improvement of the review policy
MUCH_PAIN = 7  # worst pain from which most mornings are sore, assumed
PAIN_LIMIT = 5  # the agreed limit of pain during exercise in the default policy
POINTS_PER_RATING = 2.2  # AKPS points to one step of the global rating


@dataclass(frozen=True, slots=True)
class Habits:
    """What one person answers, and how; the same for both knees."""

    measures: frozenset[str]
    mode: str
    activity_count: int
    is_runner: bool


@dataclass(frozen=True, kw_only=True)
class Course:
    """A story as one knee goes through it."""

    story: Story
    opened_on: date
    habits: Habits
    rng: Random
    primary: str = "akps"
    twist: Twist | None = None
    asks_person: bool = True  # false for the second knee of a person
    feel: float = field(init=False)

    def __post_init__(self) -> None:
        """Fix how far this person's gain differs from the story's."""
        reach = self.story.reach
        object.__setattr__(self, "feel", 1 + self.rng.uniform(-reach, reach))

    @cached_property
    def baseline(self) -> int:
        """AKPS at entry."""
        low, high = self.story.limits
        return round(min(max(self.rng.gauss(*self.story.baseline), low), high))

    @cached_property
    def worst_pain(self) -> int:
        """Worst pain at entry."""
        return self.rng.randint(*self.story.worst_pain)

    def gain(self, week: int) -> float:
        """Return the gain at a week in AKPS points, with a little noise."""
        gain, _ = self.story.at(week)
        noise = self.rng.uniform(-self.story.noise, self.story.noise)
        return gain * self.feel + (noise if week else 0)

    def pain(self, week: int, *, is_look: bool) -> dict[str, int]:
        """Return the ratings told at a visit; activities only where scores are."""
        _, change = self.story.at(week)
        worst = min(max(self.worst_pain + round(change), 0), 10)
        told = {"worst": worst, "usual": round(worst * 0.55)}
        if not is_look:
            return told
        told["stairs"] = max(worst - self.rng.randint(0, 1), 0)
        told["squatting"] = max(worst - self.rng.randint(0, 1), 0)
        told["sitting"] = max(worst - self.rng.randint(1, 3), 0)
        if self.habits.is_runner:
            told["running"] = worst
        return told

    def response(self, week: int, worst: int) -> tuple[int, str]:
        """Return pain during exercise and the knee on the next morning.

        A knee that hurts much by day does not settle every night.
        """
        if week in self.story.flare_weeks:
            return PAIN_LIMIT + 2, "flare"
        during = min(round(worst * 0.6), PAIN_LIMIT)
        by_chance = self.rng.random()
        if worst < MUCH_PAIN:
            return during, "mild_flare" if by_chance < 0.15 else "settled"
        if by_chance < 0.4 and self.story.key == "worsening":
            return during, "flare"
        return during, "mild_flare" if by_chance < 0.8 else "settled"

    def forms(self, week: int) -> tuple[FormPlan, ...]:
        """Return the questionnaires of one look."""
        gain = self.gain(week)
        asked = ["akps", *sorted((self.habits.measures | {self.primary}) - {"akps"})]
        if not self.asks_person:
            asked = [key for key in asked if key in ("akps", "koos_pf")]
        if self.twist is Twist.DISAGREES and week and "groc" not in asked:
            asked.append("groc")
        mode = "read aloud" if self.rng.random() < 0.05 else self.habits.mode
        return tuple(
            FormPlan(measure=key, answers=answers, mode=mode)
            for key in asked
            if (answers := self._answers(key, gain, week))
        )

    def _answers(self, key: str, gain: float, week: int) -> dict[str, str | int]:
        if key == "groc":
            return self._rating(gain) if week else {}
        if key == "psfs":
            count = self.habits.activity_count
            score = 4 + gain * FOLLOWS[key]
            return dict(ratings_for(score, count=count, rng=self.rng))
        start = {
            "akps": self.baseline,
            "koos_pf": self.baseline - 12,
            "lefs": min(round(self.baseline * 0.78), 64),
        }[key]
        score = start + gain * FOLLOWS.get(key, 1.0)
        answers = answers_for(key, score, rng=self.rng)
        if self.twist is Twist.INCOMPLETE and week and key == "akps":
            del answers["9"]
        return answers

    def _rating(self, gain: float) -> dict[str, str | int]:
        if self.twist is Twist.DISAGREES:
            return {"overall": FEELS_BETTER}
        return {"overall": min(max(round(gain / POINTS_PER_RATING), -7), 7)}


def visit_days(
    opened_on: date, *, until: date, rng: Random
) -> Iterator[tuple[int, date, date]]:
    """Yield week, day and next planned day of the visits before a day."""
    days = []
    for week in VISIT_WEEKS:
        drift = rng.choice((-1, 0, 0, 0, 1)) if week else 0
        day = opened_on + timedelta(weeks=week, days=drift)
        days.append((week, day if day.weekday() < 5 else day - timedelta(days=drift)))
    for (week, day), (_, planned) in pairwise(days):
        if day >= until:
            return
        yield week, day, planned


def plan_visits(
    course: Course, *, until: date, ended_on: date | None
) -> list[VisitPlan]:
    """Return the visits before a day, and a last one on the day of the discharge."""
    story, rng = course.story, course.rng
    days = list(visit_days(course.opened_on, until=until, rng=rng))
    if story.comes_until_week is not None:
        return _fading(course, days)
    visits = []
    for place, (week, day, planned) in enumerate(days):
        is_last = place == len(days) - 1
        may_miss = week not in (*LOOK_WEEKS, *story.flare_weeks) and not is_last
        attendance = _missed(rng) if may_miss and rng.random() < 0.08 else "attended"
        visits.append(_visit(course, week, day, planned, attendance=attendance))
    if ended_on:
        week = (ended_on - course.opened_on).days // 7
        last = _visit(course, week, ended_on, None, is_look=True)
        visits.append(last)
    return visits


def last_note(rng: Random) -> str:
    """Return a sentence for a discharge."""
    return rng.choice(END)


def _fading(course: Course, days: list[tuple[int, date, date]]) -> list[VisitPlan]:
    """Return visits up to the week from which the person stays away."""
    until = course.story.comes_until_week or 0
    here = [_visit(course, *day) for day in days if day[0] <= until]
    away = [day for day in days if day[0] > until][:2]
    gone = [_visit(course, *day, attendance="did_not_attend") for day in away]
    if gone:  # after the second time nothing more is planned
        week, day, _ = away[-1]
        gone[-1] = _visit(course, week, day, None, attendance="did_not_attend")
    return here + gone


def _missed(rng: Random) -> str:
    return rng.choice(("did_not_attend", "cancelled"))


def _visit(
    course: Course,
    week: int,
    on: date,
    planned: date | None,
    *,
    attendance: str = "attended",
    is_look: bool | None = None,
) -> VisitPlan:
    came = attendance == "attended"
    looks = came and (_is_look(course, week) if is_look is None else is_look)
    pain = course.pain(week, is_look=looks) if came else {}
    during, morning = course.response(week, pain["worst"]) if came else (None, "")
    told = Told(
        week=week,
        attendance=attendance,
        worst=pain.get("worst", 0),
        sorer_by=pain.get("worst", 0) - course.worst_pain,
        next_morning=morning if week else "",
        is_runner=course.habits.is_runner,
    )
    return VisitPlan(
        on=on,
        week=week,
        attendance=attendance,
        note=note_for(course.story, told, rng=course.rng),
        next_planned_on=planned,
        pain=pain,
        pain_during=during if week else None,
        next_morning=morning if week else "",
        forms=course.forms(week) if looks else (),
    )


def _is_look(course: Course, week: int) -> bool:
    """Tell whether a visit re-measures; some are never re-measured, some begin late."""
    story = course.story
    if not story.is_remeasured:
        is_blank = course.twist is Twist.INCOMPLETE and week == 3
        return week == 0 or is_blank
    return week in LOOK_WEEKS and week >= story.looks_from_week
