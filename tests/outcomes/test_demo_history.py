"""The demonstration's earlier years: invented, sound, and the same every time."""

from datetime import date, timedelta

import pytest

from clinic.models import Episode, Patient, Site, User
from outcomes.demo.history import (
    CASES,
    FIRST_DAYS_AGO,
    bring_in_history,
    plan_history,
)
from outcomes.demo.looking_back import CHANGES, WHY, look_back
from outcomes.demo.names import CLINICIANS, LEAD
from outcomes.models import Assessment, ClinicChange, FrozenReference, PainScore
from outcomes.reference_subjects import SUBJECTS
from tests.factories import make_site, make_user

ON = date(2026, 6, 1)


@pytest.fixture
def lead_of_all(db: None) -> User:
    """The lead of a clinic with the demonstration's staff and nothing else."""
    site: Site = make_site()
    for one in CLINICIANS:
        make_user(site=site, username=one.username)
    return make_user(site=site, username=LEAD.username, role=LEAD.role)


def test_the_same_day_gives_the_same_history() -> None:
    """Nothing hangs on chance."""
    assert list(plan_history(ON, taken=set())) == list(plan_history(ON, taken=set()))


def test_nobody_is_called_like_a_present_patient() -> None:
    """A taken name is passed over, and none is given twice."""
    first = next(plan_history(ON, taken=set()))
    taken = {(first.family, first.given)}
    names = [(case.family, case.given) for case in plan_history(ON, taken=taken)]
    assert not taken & set(names)
    assert len(names) == len(set(names)) == CASES


def test_every_day_lies_in_the_past_and_in_order() -> None:
    """Birth, symptoms, opening, scores and the last day follow each other."""
    for case in plan_history(ON, taken=set()):
        days = [day for day, _ in case.scores]
        order = [case.born_on, case.onset_on, case.opened_on, *days, case.ended_on]
        assert order == sorted(order)
        assert case.ended_on < ON


def test_the_importer_takes_all_of_it(lead_of_all: User) -> None:
    """Every episode, score and pain rating is stored, and each episode has ended."""
    planned = list(plan_history(ON, taken=set()))
    assert bring_in_history(by=lead_of_all, on=ON) == CASES
    assert Patient.objects.count() == Episode.objects.count() == CASES
    assert not Episode.objects.open().exists()
    scores = sum(len(case.scores) for case in planned)
    stored = Assessment.objects.filter(measure="akps", score__isnull=False)
    assert stored.count() == PainScore.objects.count() == scores
    case = planned[0]
    row = stored.get(patient__record_number=case.number, assessed_on=case.opened_on)
    assert row.score == case.scores[0][1]


def test_the_lead_has_set_down_what_months_are_held_against(lead_of_all: User) -> None:
    """One period for every subject, over by then, and changes with their days."""
    bring_in_history(by=lead_of_all, on=ON)
    look_back(by=lead_of_all, on=ON)
    rows = FrozenReference.objects.all()
    assert {row.subject for row in rows} == {SUBJECTS[slug].subject for slug in WHY}
    ((from_on, until_on),) = {(row.from_on, row.until_on) for row in rows}
    assert from_on == ON - timedelta(days=FIRST_DAYS_AGO)
    assert 600 < (until_on - from_on).days < 850
    assert all(row.numbers and row.declared_by == lead_of_all for row in rows)
    noted = ClinicChange.objects.standing()
    assert [change.words for change in noted] == [words for _, words in CHANGES]
    assert all(until_on < change.happened_on < ON for change in noted)
