"""The red-flag screen: what is asked, what is positive, what was decided."""

from datetime import date

import pytest
from django.db import IntegrityError, transaction

from clinic.models import AuditEvent, Screen, User
from clinic.screening import (
    age_on,
    answer_screen,
    checklist,
    decide,
    edition,
    positives,
    questions,
    x_ray_rule,
)
from tests.factories import make_episode

# Clinical reference, section 12: every gate of the screen.
FULL = [
    "septic",
    "injury",
    "nerve_vessel",
    "clot",
    "tumour",
    "locked",
    "dislocation",
    "hip",
    "bone_stress",
    "inflammatory",
    "catching",
]
SHORT = ["septic", "injury", "nerve_vessel", "clot", "new_or_worse"]


def keys(form: str, age: int) -> list[str]:
    """Return what a form asks at an age."""
    return [concern.key for concern in questions(form, age=age)]


@pytest.mark.parametrize("age", [12, 17, 18, 70])
def test_the_full_screen_asks_everything(age: int) -> None:
    """At every age, the hip included."""
    assert keys("full", age) == FULL


@pytest.mark.parametrize("age", [18, 70])
def test_the_short_screen_asks_the_urgent_ones(age: int) -> None:
    """And whether anything is new."""
    assert keys("short", age) == SHORT


def test_under_18_the_short_screen_asks_for_the_hip_too() -> None:
    """Hip disease of the young may show as knee pain alone (Peck 2017)."""
    assert set(keys("short", 17)) == {*SHORT, "hip"}


def test_every_concern_names_a_route_and_a_source() -> None:
    """Nothing is asked that leads nowhere."""
    for concern in checklist():
        assert concern.ask
        assert concern.route.endswith(".")
        assert concern.source


def test_a_possible_clot_is_seen_the_same_day() -> None:
    """Whatever a score says: clinical reference, section 12.2."""
    clot = next(c for c in checklist() if c.key == "clot")
    assert clot.route.startswith("Same-day medical assessment")


def test_the_x_ray_rule_is_the_published_one() -> None:
    """Stiell 1995: 55 and over, and four signs."""
    rule = x_ray_rule()
    assert rule.age == 55
    assert len(rule.signs) == 4
    assert "Stiell 1995" in rule.source


@pytest.mark.parametrize(
    ("born", "on", "age"),
    [
        (date(2008, 6, 2), date(2026, 6, 1), 17),
        (date(2008, 6, 1), date(2026, 6, 1), 18),
        (date(2008, 2, 29), date(2026, 2, 28), 17),
        (date(2008, 2, 29), date(2026, 3, 1), 18),
    ],
)
def test_age_counts_birthdays(born: date, on: date, age: int) -> None:
    """The birthday itself counts; 29 February is passed on 1 March."""
    assert age_on(born, on) == age


def answered(by: User, **answers: bool) -> Screen:
    """Answer a full screen of a new case."""
    given = {key: False for key in FULL} | answers
    return answer_screen(
        episode=make_episode(by=by),
        by=by,
        form=Screen.Form.FULL,
        answers=given,
        on=date(2026, 1, 5),
    )


def test_a_screen_without_a_yes_is_not_positive(clinician: User) -> None:
    """It is kept with the edition it was asked by."""
    screen = answered(clinician)
    assert not screen.is_positive
    assert screen.edition == edition()
    assert len(screen.answers) == len(FULL)


def test_a_yes_stays_open_until_decided(clinician: User) -> None:
    """The decision is kept with who and when."""
    screen = answered(clinician, tumour=True)
    assert screen.is_positive
    assert screen.decided_at is None
    assert [c.key for c in positives(screen.answers)] == ["tumour"]
    decide(screen, by=clinician, decision="  Sent to the urgent route today. ")
    screen.refresh_from_db()
    assert screen.decision == "Sent to the urgent route today."
    assert screen.decided_by == clinician
    assert screen.decided_at is not None


def test_a_decision_of_blanks_decides_nothing(clinician: User) -> None:
    """The database refuses a decision without words."""
    screen = answered(clinician, tumour=True)
    with pytest.raises(IntegrityError), transaction.atomic():
        decide(screen, by=clinician, decision="   ")


def test_answer_and_decision_are_on_record(clinician: User) -> None:
    """One line each."""
    screen = answered(clinician, tumour=True)
    decide(screen, by=clinician, decision="Told the family doctor.")
    lines = AuditEvent.objects.filter(action__startswith="screen.").order_by("pk")
    assert [line.action for line in lines] == ["screen.answered", "screen.decided"]
    assert lines[1].detail["decision"] == "Told the family doctor."
