"""One invented episode: the course, what was decided in it, and how it ended."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from random import Random

from .courses import Course, Habits, last_note, plan_visits
from .pastimes import Pastime, facts_for
from .plans import ContactPlan, EpisodePlan, ReviewPlan, ScreenPlan, VisitPlan
from .stories import BILATERAL, PRIMARY, Chapter, Twist

THERAPISTS = 4  # three clinicians, then the lead, who sees every tenth patient
SPREAD_WEEKS = 40  # over which the discharges lie
DECISIONS = {
    "catching": "Examined: no effusion, no block, full range. Imaging not needed "
    "now; asked again at each visit.",
    "hip": "Examined the same day, off the leg and sent to orthopaedics. X-rays of "
    "both hips clear; care for the knee goes on.",
    "new_or_worse": "Asked the full screen: one night of pain after a long drive, "
    "nothing else. Care goes on.",
}
WHY_RESTS = "Missed half of the programme in an exam month. Same plan, kept simple."
WHY_AGAIN = "Changed the programme; agreed to look at it again after three weeks."
CLOSING = {
    "no further benefit": "Better than at the start, flat since. Agreed to stop here.",
    "referred on": "Not better with the planned care. Referred for a second opinion.",
    "moved away": "Moved to another town; summary handed over.",
    "stopped attending": "Two visits missed, three tries to reach. Door stays open.",
    "other": "Came for advice before the season; content with it.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Patient:
    """What the episodes of one invented patient share."""

    number: int
    pastime: Pastime
    habits: Habits
    on: date
    rng: Random

    def episode(
        self,
        chapter: Chapter,
        case: int,
        *,
        side: str,
        ended_weeks_ago: float | None = None,
        is_second: bool = False,
    ) -> EpisodePlan:
        """Plan care for one knee; the second knee is not asked about the person."""
        opened_on, ended_on = self._dates(chapter, case, ended_weeks_ago)
        twist = chapter.twists.get(case)
        course = Course(
            story=chapter.story,
            opened_on=opened_on,
            habits=self.habits,
            rng=self.rng,
            primary=PRIMARY.get(twist, "akps") if twist else "akps",
            twist=twist,
            asks_person=not is_second,
        )
        return self._around(course, chapter, side=side, ended_on=ended_on)

    def _around(
        self, course: Course, chapter: Chapter, *, side: str, ended_on: date | None
    ) -> EpisodePlan:
        until = ended_on - timedelta(days=4) if ended_on else self.on
        gone = course.story.comes_until_week is not None
        visits = plan_visits(course, until=until, ended_on=None if gone else ended_on)
        is_undecided = course.twist is Twist.UNDECIDED
        return EpisodePlan(
            story=course.story.key,
            tells="red_flag" if is_undecided else chapter.tells,
            side=side,
            is_bilateral=course.story is BILATERAL,
            clinician=THERAPISTS - 1 if self.number % 10 == 0 else self.number % 3,
            symptom_onset_on=self._onset(course.opened_on),
            opened_on=course.opened_on,
            primary_measure=course.primary,
            facts=facts_for(self.pastime, worst_pain=course.worst_pain),
            screen=self._screen(course.twist),
            visits=tuple(_with_positive(visits, course.twist)),
            contacts=tuple(_contacts(visits)) if gone else (),
            review=self._review(course.twist),
            discharged_on=ended_on,
            reason=chapter.reason,
            discharge_note=CLOSING.get(chapter.reason) or last_note(self.rng)
            if ended_on
            else "",
        )

    def _dates(
        self, chapter: Chapter, case: int, ended_weeks_ago: float | None
    ) -> tuple[date, date | None]:
        weeks = chapter.weeks_of(case)
        if not chapter.reason:
            return _weekday(self.on - timedelta(weeks=weeks)), None
        ago = ended_weeks_ago or 2 + SPREAD_WEEKS * (case + 0.5) / chapter.count
        ended_on = _weekday(self.on - timedelta(weeks=ago))
        return _weekday(ended_on - timedelta(weeks=weeks)), ended_on

    def _onset(self, opened_on: date) -> date:
        """Return the first day of the trouble: six weeks to four years before."""
        months = min(max(self.rng.lognormvariate(2.1, 0.8), 1.5), 48)
        return opened_on - timedelta(days=round(months * 30.4))

    def _screen(self, twist: Twist | None) -> ScreenPlan:
        if twist is Twist.HIP:
            return ScreenPlan(positive=("hip",), decision=DECISIONS["hip"])
        if self.number % 31 == 5:
            return ScreenPlan(positive=("catching",), decision=DECISIONS["catching"])
        return ScreenPlan()

    def _review(self, twist: Twist | None) -> ReviewPlan | None:
        if twist is Twist.RESTS:
            on, again = 6, -15
            decision, why = "continue", WHY_RESTS
        elif twist is Twist.LOOK_AGAIN:
            on, again = 24, 3
            decision, why = "change", WHY_AGAIN
        else:
            return None
        return ReviewPlan(
            on=_weekday(self.on - timedelta(days=on)),
            decision=decision,
            why=why,
            look_again_on=self.on - timedelta(days=again),
        )


def _weekday(day: date) -> date:
    """Return the day itself, or the Friday before a weekend."""
    return day - timedelta(days=max(day.weekday() - 4, 0))


def _with_positive(visits: list[VisitPlan], twist: Twist | None) -> list[VisitPlan]:
    """Put a positive answer into the last attended visit, where the case has one."""
    if twist not in (Twist.UNDECIDED, Twist.DECIDED):
        return visits
    last = max(n for n, visit in enumerate(visits) if visit.attendance == "attended")
    decision = DECISIONS["new_or_worse"] if twist is Twist.DECIDED else ""
    changed = replace(visits[last], positive=("new_or_worse",), decision=decision)
    return [*visits[:last], changed, *visits[last + 1 :]]


def _contacts(visits: list[VisitPlan]) -> list[ContactPlan]:
    """Return the tries to reach somebody, the working day after each missed visit."""
    tries = (
        ("call", "no answer", "Rang twice, no voice mail."),
        ("message", "left word", "Asked to call back about a new time."),
    )
    missed = [visit.on for visit in visits if visit.attendance == "did_not_attend"]
    return [
        ContactPlan(day + timedelta(days=3 if day.weekday() == 4 else 1), *words)
        for day, words in zip(missed, tries, strict=False)
    ]
