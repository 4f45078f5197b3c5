"""The whole invented caseload, planned around one day and always the same for it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from random import Random

from .courses import Habits
from .episodes import Patient
from .names import Name, invent_birth_date, invent_names
from .pastimes import Pastime, choose_pastime
from .plans import EpisodePlan, PersonPlan
from .stories import AGAIN, BILATERAL, ENDED, IN_CARE, STEADY, Chapter

SEED = 20_260
RUNNERS = {"Running", "Handball", "Orienteering", "Football", "Hill walking"}
# Which share of people answers each measure besides the AKPS.
SHARES = {"koos_pf": 0.3, "lefs": 0.25, "psfs": 0.4, "groc": 0.5}
MODES = {"alone": 88, "read aloud": 7, "paper": 5}


def plan_caseload(on: date) -> tuple[PersonPlan, ...]:
    """Return every invented patient; the same day always gives the same people."""
    cases = [(c, n) for c in (*IN_CARE, *ENDED) for n in range(c.count)]
    names = invent_names(len(cases), rng=Random(SEED))  # noqa: S311 - invented people
    numbers = list(range(len(cases)))
    Random(SEED + 1).shuffle(numbers)  # noqa: S311 - so that stories mix in a list
    people = [
        _person(chapter, case, number=number, name=names[number], on=on)
        for (chapter, case), number in zip(cases, numbers, strict=True)
    ]
    return tuple(sorted(people, key=lambda person: person.record_number))


def _person(
    chapter: Chapter, case: int, *, number: int, name: Name, on: date
) -> PersonPlan:
    """Plan one patient; the random numbers are the person's own."""
    rng = Random(SEED * 1000 + number)  # noqa: S311 - invented people
    pastime = choose_pastime(is_young=chapter.story.ages[1] < 18, rng=rng)
    habits = _habits(pastime, rng)
    patient = Patient(number=number, pastime=pastime, habits=habits, on=on, rng=rng)
    return PersonPlan(
        record_number=f"TR{1000 + number * 7}",
        name=name,
        birth_date=invent_birth_date(on=on, ages=chapter.story.ages, rng=rng),
        activities=pastime.activities,
        episodes=tuple(_knees(patient, chapter, case)),
    )


def _habits(pastime: Pastime, rng: Random) -> Habits:
    return Habits(
        measures=frozenset(key for key, p in SHARES.items() if rng.random() < p),
        mode=rng.choices(list(MODES), list(MODES.values()))[0],
        activity_count=len(pastime.activities),
        is_runner=pastime.sport in RUNNERS,
    )


def _knees(patient: Patient, chapter: Chapter, case: int) -> Iterator[EpisodePlan]:
    """Yield the episodes of one patient: mostly one, two for some."""
    side, other = patient.rng.choice((("left", "right"), ("right", "left")))
    if chapter.story is AGAIN:
        before = Chapter(story=STEADY, count=1, weeks=(13, 13), reason="goals met")
        yield patient.episode(before, 0, side=side, ended_weeks_ago=26.0 + 7 * case)
    yield patient.episode(chapter, case, side=side)
    if chapter.story is BILATERAL:
        yield patient.episode(chapter, case, side=other, is_second=True)
