"""From logged sessions to one suggestion per line, and what becomes of the answer."""

from datetime import date, timedelta
from typing import Any

import pytest

from clinic import screening
from clinic.models import AuditEvent, Episode, Screen, User
from outcomes.session_recording import SessionEntry
from programs import answering, library
from programs.course import read_course
from programs.dosing.response_rules import Kind
from programs.dosing_policies import change_dosing
from programs.line_doses import changed_line
from programs.lines import Line, line_of
from programs.models import Prescription, Programme, SuggestionChoice
from programs.next_steps import find_step, read_advice
from programs.prescribing import PlanRefused, change_prescription
from programs.suggesting import NextStep
from tests.factories import make_episode, make_visit
from tests.programs.plans import (
    SQUAT,
    flow_line,
    make_line,
    make_programme,
    open_screen,
    squat_line,
)

WEEK = timedelta(weeks=1)


@pytest.fixture(autouse=True)
def _at_ten(clock: Any) -> None:
    """Every test of this file runs on one day."""


@pytest.fixture
def case(clinician: User, today: date) -> Episode:
    """A case five weeks in, low irritability."""
    return make_episode(by=clinician, opened_on=today - 5 * WEEK, irritability="low")


@pytest.fixture
def programme(case: Episode, today: date) -> Programme:
    """A programme since four weeks."""
    return make_programme(case, on=today - 4 * WEEK)


@pytest.fixture
def line(programme: Programme, today: date) -> Prescription:
    """Three sets of ten at 12 kg; the plates step by half a kilogram."""
    dose = squat_line(plate_step_kg=0.5)
    return make_line(programme, on=today - 4 * WEEK, line=dose)


def told(
    line: Prescription,
    *,
    on: date,
    morning: str = "settled",
    usual: int | None = 2,
    during: int | None = None,
    **log: Any,
) -> None:
    """Log a visit at which calm sessions of a line were told, changed where asked."""
    calm: dict[str, Any] = {
        "sessions_done": 3,
        "sets_done": 3,
        "repetitions_over": 2,
        "pain_during": 1,
    }
    make_visit(
        episode=line.phase.programme.episode,
        on=on,
        pain={"usual": usual},
        pain_during=during,
        next_morning=morning,
        session_logs=(SessionEntry(prescription=line, **calm | log),),
    )


def twice(line: Prescription, today: date, **log: Any) -> None:
    """Log two visits with the same entries, a week apart, the last one today."""
    told(line, on=today - WEEK, **log)
    told(line, on=today, **log)


def step_of(line: Prescription, on: date) -> NextStep:
    """Return what is suggested for a line."""
    found = find_step(line.phase.programme.episode, line, on=on)
    assert found is not None
    return found


# What is suggested


def test_two_calm_sessions_with_the_target_beaten_raise_the_load(
    line: Prescription, today: date
) -> None:
    """12 kg, a large muscle, low irritability: up to 10 per cent, so 13 kg."""
    twice(line, today)
    step = step_of(line, today)
    assert (step.suggestion.kind, step.suggestion.rule) == (
        Kind.PROGRESS,
        "calm_and_beaten",
    )
    assert step.changed == squat_line(plate_step_kg=0.5, load_kg=13.0)
    assert "12 to 13 kg" in step.sentence


def test_one_calm_session_holds(line: Prescription, today: date) -> None:
    """A hold is an answer that can be accepted, and changes nothing."""
    told(line, on=today)
    step = step_of(line, today)
    assert step.suggestion.rule == "too_few_calm_sessions"
    assert step.changed is None and step.can_accept


def test_without_a_load_the_harder_rung_is_proposed(
    programme: Programme, today: date
) -> None:
    """One change: the exercise; sets and repetitions stay."""
    dose = squat_line(load="body", load_kg=None)
    line = make_line(programme, on=today - 4 * WEEK, line=dose)
    twice(line, today)
    harder = library.harder(SQUAT)
    assert harder and step_of(line, today).changed == squat_line(
        load="body", load_kg=None, exercise=harder.key
    )


def test_too_much_pain_eases_off_by_volume(line: Prescription, today: date) -> None:
    """One change of a fifth to a third, here three sets of eight."""
    told(line, on=today, pain_during=7)
    step = step_of(line, today)
    assert step.suggestion.kind is Kind.EASE_OFF
    assert step.changed
    before, after = line_of(line), step.changed
    assert before.load_kg == after.load_kg and before.exercise == after.exercise
    volume = (after.sets or 0) * (after.repetitions or 0)
    assert 0.7 * 30 <= volume <= 0.8 * 30


def test_a_dose_that_no_whole_numbers_fit_cannot_be_accepted(
    programme: Programme, today: date
) -> None:
    """A hold: the clinician changes it by hand, or declines."""
    dose = squat_line(repetitions=None, hold_seconds=30)
    line = make_line(programme, on=today - 4 * WEEK, line=dose)
    told(line, on=today, pain_during=7)
    step = step_of(line, today)
    assert step.suggestion.kind is Kind.EASE_OFF and not step.can_accept
    with pytest.raises(PlanRefused, match="change the line yourself"):
        answering.accept_step(step, by=line.prescribed_by, on=today)


def test_pain_of_the_whole_session_counts_where_the_line_has_none(
    line: Prescription, today: date
) -> None:
    """The line's own rating comes first."""
    told(line, on=today - WEEK, pain_during=1, during=8)
    assert step_of(line, today).suggestion.kind is Kind.HOLD
    told(line, on=today, pain_during=None, during=8)
    assert step_of(line, today).suggestion.rule == "pain_above_limit"


def test_a_set_that_pain_stopped_is_not_done(line: Prescription, today: date) -> None:
    """Though three sets were counted and pain was low."""
    twice(line, today, is_stopped_by_pain=True)
    assert step_of(line, today).suggestion.rule == "sets_not_done"


def test_usual_pain_reaches_the_rules(line: Prescription, today: date) -> None:
    """Seven or more is an irritable knee (clinical reference 11.2)."""
    twice(line, today, usual=7)
    assert step_of(line, today).suggestion.rule == "high_irritability"


@pytest.mark.parametrize(
    ("log", "rule"),
    [
        ({"morning": "flare"}, "flare"),
        ({"morning": "mild_flare"}, "mild_flare"),
        ({"morning": ""}, "morning_not_recorded"),
        ({"pain_during": None}, "pain_not_recorded"),
        ({"pain_during": 4}, "pain_acceptable"),
        ({"sets_done": 2}, "sets_not_done"),
        ({"sets_done": None}, "sets_not_recorded"),
        ({"repetitions_over": -1}, "target_not_beaten"),
        ({"repetitions_over": None}, "repetitions_not_recorded"),
    ],
)
def test_each_thing_told_has_its_rule(
    line: Prescription, today: date, log: dict[str, Any], rule: str
) -> None:
    """What is not recorded is said, and never guessed."""
    twice(line, today, **log)
    assert step_of(line, today).suggestion.rule == rule


def test_a_line_by_time_counts_as_one_set(programme: Programme, today: date) -> None:
    """Running has no sets to fill in."""
    dose = Line(exercise=library.ladder("running_return")[0].key, minutes=20)
    line = make_line(programme, on=today - 4 * WEEK, line=dose)
    twice(line, today, sets_done=None, repetitions_over=None)
    assert step_of(line, today).suggestion.rule == "calm_and_done"


# At the present dose only


def test_a_changed_line_starts_anew(line: Prescription, today: date) -> None:
    """Sessions at the old dose say nothing about the new one."""
    told(line, on=today - 2 * WEEK)
    told(line, on=today - WEEK)
    by = line.prescribed_by
    dose = squat_line(load_kg=13.0)
    made = change_prescription(line, by=by, line=dose, on=today - WEEK, why="Stronger")
    case = line.phase.programme.episode
    advice = read_advice(case, on=today)
    assert advice and not advice.steps
    assert advice.unlogged == (line_of(made).name,)


def test_visits_without_a_session_and_voided_visits_do_not_count(
    line: Prescription, today: date
) -> None:
    """Nothing was done, or the visit was withdrawn."""
    from outcomes.voiding import void_visit

    told(line, on=today - WEEK)
    told(line, on=today, sessions_done=0)
    assert step_of(line, today).suggestion.rule == "too_few_calm_sessions"
    visit = line.session_logs.order_by("pk").first().visit
    void_visit(visit, by=line.prescribed_by, why="Wrong person", version=1)
    assert find_step(line.phase.programme.episode, line, on=today) is None


def test_adjuncts_get_no_next_step(programme: Programme, today: date) -> None:
    """Tape has no dose that goes up."""
    make_line(programme, on=today, line=Line(exercise="taping_tailored"))
    assert read_advice(programme.episode, on=today) is None


# Nothing past a gate


def test_an_undecided_red_flag_stops_everything(
    line: Prescription, today: date, clinician: User
) -> None:
    """The reason stands where the suggestions were."""
    twice(line, today)
    case = line.phase.programme.episode
    screening.answer_screen(
        episode=case,
        by=clinician,
        form=Screen.Form.FULL,
        answers={"clot": True},
        on=today,
    )
    advice = read_advice(case, on=today)
    assert advice and advice.steps == ()
    assert "waiting for a decision" in advice.refusal
    assert find_step(case, line, on=today) is None


def test_a_site_without_advice_gets_none(
    line: Prescription, today: date, lead: User
) -> None:
    """The lead turned it off."""
    twice(line, today)
    change_dosing(site=lead.site, by=lead, values={}, is_advice_on=False, version=0)
    advice = read_advice(line.phase.programme.episode, on=today)
    assert advice and advice.steps == () and "turned off" in advice.refusal


def test_a_cuff_gets_nothing_once_its_screen_has_run_out(
    case: Episode, programme: Programme, line: Prescription, today: date
) -> None:
    """The other line goes on; the reason stands with the line under the cuff."""
    begun = today - 4 * WEEK
    screen = open_screen(case, on=begun)
    cuff = make_line(programme, on=begun, line=flow_line(on=begun))
    entries = [
        SessionEntry(
            prescription=one,
            sessions_done=3,
            sets_done=3,
            repetitions_over=2,
            pain_during=1,
        )
        for one in (line, cuff)
    ]
    make_visit(
        episode=case, on=today, next_morning="settled", session_logs=tuple(entries)
    )
    type(screen).objects.filter(pk=screen.pk).update(answered_on=today - 52 * WEEK)
    step = step_of(cuff, today)
    assert step.suggestion.kind is Kind.NO_ADVICE and not step.is_asked
    assert step.suggestion.rule == "flow_screen_expired"
    assert step_of(line, today).suggestion.rule == "too_few_calm_sessions"


def test_easing_off_under_a_cuff_leaves_out_the_last_set() -> None:
    """30-15-15-15 becomes 30-15-15: 20 per cent less."""
    from programs.dosing.limits import DosingPolicy
    from programs.dosing.next_step import step_down
    from programs.line_doses import dose_of

    line = flow_line(on=date(2031, 3, 1))
    change = step_down(dose_of(line), is_repeated=False, policy=DosingPolicy())
    changed = changed_line(line, change)
    assert changed and changed.scheme == (30, 15, 15)


# The answer


def test_accepting_makes_the_changed_line_and_keeps_the_choice(
    line: Prescription, today: date, colleague: User
) -> None:
    """With who, the reason and the rule; one audit line each."""
    twice(line, today)
    choice = answering.accept_step(step_of(line, today), by=colleague, on=today)
    made = choice.leads_to
    assert made and made.replaces_id == line.pk and made.load_kg == 13.0
    assert "12 to 13 kg" in made.why
    assert (choice.choice, choice.kind, choice.rule) == (
        "accepted",
        "progress",
        "calm_and_beaten",
    )
    assert choice.chosen_by == colleague and choice.site_id == line.site_id
    actions = AuditEvent.objects.order_by("-pk").values_list("action", flat=True)[:2]
    assert set(actions) == {"line.changed", "suggestion.answered"}


def test_declining_keeps_the_line_and_the_words(
    line: Prescription, today: date
) -> None:
    """It is not asked again until a later session."""
    twice(line, today)
    step, by = step_of(line, today), line.prescribed_by
    answering.decline_step(step, by=by, on=today, words="Race on Sunday")
    line.refresh_from_db()
    assert line.stops_on is None
    again = step_of(line, today)
    assert again.answer and again.answer.words == "Race on Sunday"
    assert not again.is_asked
    assert not step_of(line, today + timedelta(days=1)).is_asked
    told(line, on=today + WEEK)
    assert step_of(line, today + WEEK).is_asked


def test_another_suggestion_on_the_same_day_is_shown_without_a_question(
    line: Prescription, today: date
) -> None:
    """After a corrected visit, what the rules now say is in sight."""
    twice(line, today)
    answering.decline_step(step_of(line, today), by=line.prescribed_by, on=today)
    line.session_logs.filter(visit__visited_on=today).update(pain_during=8)
    step = step_of(line, today)
    assert step.suggestion.kind is Kind.EASE_OFF
    assert step.answer is None and not step.is_asked


@pytest.mark.parametrize("act", [answering.accept_step, answering.decline_step])
def test_the_second_answer_of_a_day_is_refused(
    line: Prescription, today: date, act: Any
) -> None:
    """Two people at once: one of them is told to look again."""
    twice(line, today)
    step = step_of(line, today)
    answering.decline_step(step, by=line.prescribed_by, on=today)
    with pytest.raises(PlanRefused, match="Look at it again"):
        act(step, by=line.prescribed_by, on=today)
    assert SuggestionChoice.objects.count() == 1
    assert not Prescription.objects.filter(replaces=line).exists()


def test_a_change_of_ones_own_is_kept_as_edited(
    line: Prescription, today: date
) -> None:
    """With the line that it led to."""
    twice(line, today)
    step, by = step_of(line, today), line.prescribed_by
    own = squat_line(load_kg=12.5)
    made = change_prescription(line, by=by, line=own, on=today, why="A little")
    choice = answering.keep_edited(step, made, by=by, on=today)
    assert (choice.choice, choice.leads_to) == ("edited", made)


def test_more_lines_cost_no_more_queries(
    case: Episode, programme: Programme, today: date, django_assert_max_num_queries: Any
) -> None:
    """One reading for all; the gates are asked once."""
    for _ in range(6):
        told(make_line(programme, on=today - 4 * WEEK), on=today - WEEK)
        today -= timedelta(days=1)
    with django_assert_max_num_queries(12):
        advice = read_advice(case, on=today + timedelta(days=6))
    assert advice and len(advice.steps) == 6


def test_the_course_holds_what_stands(line: Prescription, today: date) -> None:
    """Lines by number, logs in order of the visits."""
    twice(line, today)
    course = read_course(line.phase.programme.episode)
    assert [log.visit.visited_on for log in course.logs[line.pk]] == [
        today - WEEK,
        today,
    ]
    assert course.running(today) == (line,)
