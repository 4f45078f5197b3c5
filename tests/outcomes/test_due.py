"""When a questionnaire is due again: by hand, and against the caseload's own rule."""

from datetime import date, timedelta

import numpy as np
import pytest

from clinic.models import User
from outcomes.due import can_be_added, due_on_day, next_due_on
from outcomes.models import Assessment
from outcomes.science.courses import CaseCourse, Courses
from outcomes.science.policy import StallPolicy
from outcomes.science.stall import evaluate
from outcomes.voiding import void_assessment
from tests.factories import make_akps, make_episode

OPENED = date(2026, 1, 5)
DEFAULTS = {"weeks": (0, 3, 6, 9, 12), "then_every_weeks": 6, "early_days": 7}


def week(number: float) -> date:
    """Return the day so many weeks after opening."""
    return OPENED + timedelta(days=round(7 * number))


@pytest.mark.parametrize(
    ("looks", "due"),
    [
        ([], week(0)),
        ([week(0)], week(3)),
        ([week(1)], week(3)),
        ([week(2)], week(6)),  # a week early still answers week 3
        ([week(0), week(4)], week(6)),
        ([week(12)], week(18)),  # beyond the plan: every six weeks
        ([week(17)], week(24)),
        ([week(-1)], week(3)),  # a look before opening is the baseline
    ],
)
def test_the_next_due_day_by_hand(looks: list[date], due: date) -> None:
    """Default schedule: weeks 0, 3, 6, 9, 12, then every six (clinical 10.2)."""
    assert next_due_on(OPENED, looks, **DEFAULTS) == due


def test_the_page_and_the_caseload_agree() -> None:
    """One rule in two places: here for one case, in the caseload for all at once."""
    policy = StallPolicy()
    generator = np.random.default_rng(20260105)
    for _ in range(60):
        days = sorted({int(d) for d in generator.integers(0, 200, size=4)})
        looks = [OPENED + timedelta(days=d) for d in days]
        case = CaseCourse(
            opened_on=OPENED,
            mcid=10,
            mdc=13,
            sem=4.7,
            best_possible=100,
            looks=[(on, 50.0) for on in looks],
        )
        on = OPENED + timedelta(days=200)
        judged = evaluate(Courses.from_cases([case]), policy=policy, on=on)
        expected = date.fromordinal(int(judged.progress.next_due[0]))
        assert next_due_on(OPENED, looks, **DEFAULTS) == expected, days


def test_due_opens_early_and_closes_when_answered(clinician: User) -> None:
    """Seven days before week 3 it is on the page; once answered it is gone."""
    episode, policy = make_episode(by=clinician, opened_on=OPENED), StallPolicy()
    first = due_on_day(episode, policy=policy, on=OPENED)
    assert first and first.about.key == "akps" and first.is_first
    make_akps(episode=episode, on=OPENED, total=60)
    assert due_on_day(episode, policy=policy, on=OPENED) is None
    assert due_on_day(episode, policy=policy, on=week(2) - timedelta(days=1)) is None
    again = due_on_day(episode, policy=policy, on=week(2))
    assert again and again.due_on == week(3) and not again.is_first


def test_a_voided_or_unscored_questionnaire_answers_nothing(clinician: User) -> None:
    """Neither is a look at the course."""
    episode, policy = make_episode(by=clinician, opened_on=OPENED), StallPolicy()
    made = make_akps(episode=episode, on=OPENED, total=60)
    void_assessment(made, by=clinician, why="wrong person")
    assert due_on_day(episode, policy=policy, on=OPENED)
    assert Assessment.objects.standing().count() == 0


def test_a_case_may_have_its_own_weeks(clinician: User) -> None:
    """Its schedule stands before the site's."""
    episode = make_episode(by=clinician, opened_on=OPENED, schedule_weeks=[0, 8])
    make_akps(episode=episode, on=OPENED, total=60)
    assert due_on_day(episode, policy=StallPolicy(), on=week(5)) is None
    due = due_on_day(episode, policy=StallPolicy(), on=week(7))
    assert due and due.due_on == week(8)


def test_what_is_on_the_page_cannot_be_added() -> None:
    """The list holds the questionnaires that are not open yet."""
    keys = [about.key for about in can_be_added({"akps", "groc"})]
    assert keys == ["koos_pf", "lefs", "psfs"]
