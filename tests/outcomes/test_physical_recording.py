"""Physical tests on record: results, units, symmetry, voiding, whose case it is."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from clinic.admitting import discharge
from clinic.models import AuditEvent, Episode, User
from outcomes.entries import has_entries, last_entry_on
from outcomes.models import PhysicalResult
from outcomes.physical_course import (
    PhysicalDay,
    physical_days,
    result_words,
    results_of,
    torque_of,
)
from outcomes.physical_recording import (
    ImpossibleEntry,
    PhysicalEntry,
    SideEntry,
    record_physical_test,
    void_physical_result,
)
from outcomes.science.physical_file import physical_tests
from outcomes.science.physical_tests import NoResult, Symmetry, Trial
from outcomes.voiding import void_visit
from tests.factories import make_episode, make_patient, make_physical, make_visit

OPENED = date(2026, 3, 2)
ON = OPENED + timedelta(days=14)


@pytest.fixture
def episode(clinician: User) -> Episode:
    """A left knee in care."""
    return make_episode(by=clinician, opened_on=OPENED)


def only_day(episode: Episode, test: str = "hip_abductor") -> PhysicalDay:
    """Return the one day on which the test was done."""
    (found,) = physical_days(results_of(episode), index=episode.side)[test]
    return found


def push(*values: float, side: str = "left", **more: Any) -> SideEntry:
    """Return one side of a test that no pain stopped."""
    return SideEntry(side=side, trials=tuple(map(Trial, values)), **more)


def record(
    episode: Episode, *sides: SideEntry, test: str = "hip_abductor", **entry: Any
) -> list[PhysicalResult]:
    """Record a test in N on ON."""
    given: dict[str, Any] = {"tested_on": ON, "unit": "N", **entry}
    return record_physical_test(
        episode=episode,
        by=episode.clinician,
        entry=PhysicalEntry(test=test, sides=sides, **given),
    )


# What is kept


def test_both_sides_are_kept_with_their_mean(episode: Episode) -> None:
    """Three pushes of 200, 210, 190 N make 200; 250, 240, 260 make 250."""
    left, right = make_physical(episode=episode, on=ON)
    assert (left.side, left.value) == ("left", 200)
    assert (right.side, right.value) == ("right", 250)
    assert [trial["value"] for trial in left.trials] == [200, 210, 190]


def test_symmetry_is_the_index_side_in_per_cent_of_the_other(
    episode: Episode,
) -> None:
    """200 of 250 N is 80 per cent."""
    make_physical(episode=episode, on=ON)
    symmetry = only_day(episode).symmetry
    assert isinstance(symmetry, Symmetry)
    assert symmetry.percent == pytest.approx(80)
    assert "80 per cent of the other side" in only_day(episode).sentence


def test_the_right_knee_is_the_index_of_its_own_case(clinician: User) -> None:
    """250 of 200 N is 125 per cent."""
    case = make_episode(by=clinician, opened_on=OPENED, side="right")
    make_physical(episode=case, on=ON)
    symmetry = only_day(case).symmetry
    assert isinstance(symmetry, Symmetry)
    assert symmetry.percent == pytest.approx(125)


def test_kg_are_kept_as_typed_and_count_in_newtons(episode: Episode) -> None:
    """20 kg × 9.80665 = 196.133 N."""
    (row,) = record(episode, push(20), unit="kg")
    assert row.trials == [{"value": 20, "is_stopped_by_pain": False}]
    assert row.unit == "kg"
    assert row.value == pytest.approx(196.133)


def test_the_longest_hop_counts(episode: Episode) -> None:
    """Its file says best; a cm stays a cm."""
    (row,) = record(episode, push(90, 104, 99), test="single_leg_hop", unit="cm")
    assert row.value == 104


def test_a_push_that_pain_stopped_is_kept_and_not_counted(episode: Episode) -> None:
    """The mean of 200 and 210; the third is no maximum."""
    trials = (Trial(200), Trial(210), Trial(90, is_stopped_by_pain=True))
    (row,) = record(episode, SideEntry(side="left", trials=trials))
    assert row.value == 205
    assert row.trials[2] == {"value": 90, "is_stopped_by_pain": True}


def test_pain_in_every_push_leaves_a_reason_and_no_value(episode: Episode) -> None:
    """No number is made up; the side is not said to be untested."""
    trials = (Trial(90, is_stopped_by_pain=True),)
    (row,) = record(episode, SideEntry(side="left", trials=trials))
    assert row.value is None
    assert "Pain stopped every trial" in row.no_value_reason
    assert isinstance(only_day(episode).symmetry, NoResult)
    assert "The left side has no result" in only_day(episode).sentence


def test_one_side_alone_is_kept_and_said(episode: Episode) -> None:
    """No symmetry is guessed from another day."""
    record(episode, push(200))
    found = only_day(episode)
    assert isinstance(found.symmetry, NoResult)
    assert "The right side was not tested." in found.sentence


def test_different_lever_arms_are_compared_by_torque(episode: Episode) -> None:
    """200 N × 0.40 m = 80 Nm against 200 N × 0.50 m = 100 Nm: 80 per cent."""
    left, _ = record(
        episode,
        push(200, lever_arm_m=0.40),
        push(200, side="right", lever_arm_m=0.50),
        body_kg=80,
    )
    about = physical_tests()["hip_abductor"]
    turned = torque_of(about, left)
    assert turned
    assert (turned.nm, turned.nm_per_kg) == (pytest.approx(80), pytest.approx(1))
    symmetry = only_day(episode).symmetry
    assert isinstance(symmetry, Symmetry)
    assert symmetry.percent == pytest.approx(80)


def test_with_one_lever_arm_missing_forces_are_compared(episode: Episode) -> None:
    """200 of 250 N, whatever the one arm was."""
    record(episode, push(200, lever_arm_m=0.40), push(250, side="right"))
    symmetry = only_day(episode).symmetry
    assert isinstance(symmetry, Symmetry)
    assert symmetry.percent == pytest.approx(80)


def test_a_pain_rating_has_no_symmetry(episode: Episode) -> None:
    """It reads "6 of 10", and nothing is divided."""
    record(
        episode,
        push(6),
        push(0, side="right"),
        test="single_leg_squat",
        unit="points",
    )
    found = only_day(episode, "single_leg_squat")
    assert isinstance(found.symmetry, NoResult)
    assert result_words(found.about, found.of("left")) == "6 of 10"


def test_a_test_at_a_visit_belongs_to_it(episode: Episode) -> None:
    """The visit of that day; without one it stands alone."""
    visit = make_visit(episode=episode, on=ON)
    (row,) = record(episode, push(200))
    assert row.visit == visit
    (alone,) = record(episode, push(200), tested_on=ON + timedelta(days=1))
    assert alone.visit is None


# What is refused


@pytest.mark.parametrize(
    ("sides", "entry", "match"),
    [
        ((), {}, "At least one side"),
        ((push(5),), {}, "A trial is 5"),
        ((push(2000),), {}, "A trial is 2000"),
        ((push(20),), {"unit": "lb"}, "is not measured in lb"),
        ((push(200, side="middle"),), {}, "has no side"),
        ((push(200, side=""),), {}, "has no side"),
        ((SideEntry(side="left", trials=()),), {}, "No trial"),
        ((push(200, lever_arm_m=3),), {}, "The lever arm is 3"),
        ((push(200),), {"body_kg": 5}, "Body weight is 5"),
        (
            (SideEntry(side="left", trials=(Trial(5, is_stopped_by_pain=True),)),),
            {},
            "A trial is 5",
        ),
    ],
)
def test_an_impossible_entry_is_never_kept(
    episode: Episode, sides: tuple[SideEntry, ...], entry: Any, match: str
) -> None:
    """The act holds what the form holds, whoever calls it."""
    with pytest.raises(ImpossibleEntry, match=match):
        record(episode, *sides, **entry)
    assert not PhysicalResult.objects.exists()
    assert not AuditEvent.objects.filter(action="physical_test.recorded").exists()


def test_a_lever_arm_belongs_to_a_force(episode: Episode) -> None:
    """A hop has none."""
    with pytest.raises(ImpossibleEntry, match="has no lever arm"):
        record(episode, push(90, lever_arm_m=0.4), test="single_leg_hop", unit="cm")


def test_a_side_has_one_result_a_day(episode: Episode) -> None:
    """The database holds it; a voided one makes room."""
    (row,) = record(episode, push(200))
    with pytest.raises(IntegrityError), transaction.atomic():
        record(episode, push(210))
    void_physical_result(row, by=episode.clinician, why="Wrong leg.")
    (again,) = record(episode, push(210))
    assert again.value == 210


def test_the_other_side_may_follow_the_same_day(episode: Episode) -> None:
    """Two saves make one day with both sides."""
    record(episode, push(200))
    record(episode, push(250, side="right"))
    assert only_day(episode).untested == ()


# What goes on record


def test_one_line_is_audited_for_both_sides(episode: Episode) -> None:
    """It names the rows, not the numbers."""
    rows = make_physical(episode=episode, on=ON)
    (line,) = AuditEvent.objects.filter(action="physical_test.recorded")
    assert line.detail["results"] == [row.pk for row in rows]
    assert line.detail["test"] == "hip_abductor"


def test_a_voided_result_leaves_the_course_and_stays_on_record(
    episode: Episode,
) -> None:
    """Who, when and why."""
    left, _ = make_physical(episode=episode, on=ON)
    void_physical_result(left, by=episode.clinician, why="Strap slipped.")
    assert only_day(episode).untested == ("left",)
    left.refresh_from_db()
    assert left.void_reason == "Strap slipped."
    (line,) = AuditEvent.objects.filter(action="physical_result.voided")
    assert line.detail["why"] == "Strap slipped."


def test_a_voided_visit_takes_its_tests_along(episode: Episode) -> None:
    """What was measured at a visit that never was cannot stand."""
    visit = make_visit(episode=episode, on=ON)
    make_physical(episode=episode, on=ON)
    void_visit(visit, by=episode.clinician, why="Wrong patient.", version=1)
    assert results_of(episode) == []


def test_a_case_with_tests_holds_something(episode: Episode) -> None:
    """It cannot be voided as empty, nor discharged before its last test."""
    assert not has_entries(episode)
    make_physical(episode=episode, on=ON)
    assert has_entries(episode)
    assert last_entry_on(episode) == ON


# The case that a result falls in


def test_a_test_counts_for_both_knees_in_care(clinician: User) -> None:
    """Both legs were tested; the index side is each case's own."""
    patient = make_patient(by=clinician)
    left = make_episode(by=clinician, patient=patient, opened_on=OPENED)
    right = make_episode(by=clinician, patient=patient, opened_on=OPENED, side="right")
    make_physical(episode=left, on=ON)
    mine, theirs = only_day(left).symmetry, only_day(right).symmetry
    assert isinstance(mine, Symmetry) and isinstance(theirs, Symmetry)
    assert (mine.percent, theirs.percent) == (
        pytest.approx(80),
        pytest.approx(125),
    )
    with pytest.raises(IntegrityError), transaction.atomic():
        make_physical(episode=right, on=ON)


def test_a_later_episode_does_not_show_the_tests_before_it(clinician: User) -> None:
    """Its course begins when it opens."""
    patient = make_patient(by=clinician)
    before = make_episode(by=clinician, patient=patient, opened_on=OPENED)
    make_physical(episode=before, on=ON)
    discharge(
        before,
        by=clinician,
        on=ON + timedelta(days=7),
        reason="goals met",
        note="",
        version=before.version,
    )
    again = make_episode(
        by=clinician, patient=patient, opened_on=ON + timedelta(days=30)
    )
    make_physical(episode=again, on=ON + timedelta(days=31))
    assert [row.tested_on for row in results_of(again)] == [ON + timedelta(days=31)] * 2
    assert [row.tested_on for row in results_of(before)] == [ON] * 2
