"""Properties of dose and response that hold for any sessions."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from programs.dosing.loading import Irritability
from programs.dosing.next_step import Variable
from programs.dosing.repetition_maximum import (
    FORMULAS,
    Ending,
    RepetitionMaximum,
    estimate_maximum,
)
from programs.dosing.response import NextMorning, Session, Suggestion, suggest
from programs.dosing.response_rules import Kind
from tests.programs.lines import DAY, SCREENS, dose_of, gates_of, sessions_of

# From the easiest to the hardest; within easing off, a rung down is easier still.
HARDNESS = {Kind.EASE_OFF: 1, Kind.HOLD: 2, Kind.PROGRESS: 3}
MORNINGS = list(NextMorning)  # from the best to the worst
PAIN = st.integers(0, 20).map(lambda halves: halves / 2)
MANY = settings(max_examples=150, deadline=None)

one = st.tuples(
    PAIN,
    st.sampled_from(MORNINGS),
    st.one_of(PAIN, st.just("-")),
    st.sampled_from([0, 2, 3, 3, 3, "-"]),
    st.sampled_from([-1, 0, 1, 2, 2, "-"]),
)
calm = st.tuples(
    st.sampled_from([0, 1, 2]),
    st.just(NextMorning.SETTLED),
    st.just(3),
    st.just(3),
    st.sampled_from([1, 2, 2]),
)
several = st.lists(st.one_of(one, calm, calm), min_size=1, max_size=5).map(sessions_of)
doses = st.builds(
    dose_of,
    load_kg=st.sampled_from([40, 12.5, "-"]),
    repetitions=st.sampled_from([10, "-"]),
    plate=st.sampled_from([0.5, 2.5, 5]),
    muscle=st.sampled_from(["small", "large"]),
    easier=st.sampled_from(["easier", ""]),
    harder=st.sampled_from(["harder", ""]),
    is_flow_restricted=st.booleans(),
    one_rm_kg=st.sampled_from([150, 100, "-"]),
)
levels = st.sampled_from([*Irritability, None])


def asked(
    sessions: list[Session], dose: Any, level: Irritability | None, **gates: Any
) -> Suggestion:
    """Ask with open gates unless told otherwise."""
    return suggest(
        sessions=sessions,
        dose=dose,
        irritability=level,
        gates=gates_of(**{"flow_screen": "clear"} | gates),
        on=DAY,
    )


def hardness(found: Suggestion) -> float:
    """Rank what is suggested; with all recorded and gates open it is never refused."""
    assert found.kind is not Kind.NO_ADVICE
    is_rung = bool(found.change and found.change.variable is Variable.RUNG)
    return HARDNESS[found.kind] - (found.kind is Kind.EASE_OFF and is_rung)


def changed(sessions: list[Session], at: int, **values: Any) -> list[Session]:
    """Give the same sessions with one of them changed."""
    return [*sessions[:at], replace(sessions[at], **values), *sessions[at + 1 :]]


@MANY
@given(sessions=several, dose=doses, level=levels, data=st.data())
def test_more_pain_during_never_yields_a_harder_suggestion(
    sessions: list[Session], dose: Any, level: Irritability, data: st.DataObject
) -> None:
    at = data.draw(st.integers(0, len(sessions) - 1))
    more = data.draw(st.integers(int(2 * sessions[at].pain_during), 20)) / 2
    worse = changed(sessions, at, pain_during=more)
    assert hardness(asked(worse, dose, level)) <= hardness(asked(sessions, dose, level))


@MANY
@given(sessions=several, dose=doses, level=levels, data=st.data())
def test_a_worse_next_morning_never_yields_a_harder_suggestion(
    sessions: list[Session], dose: Any, level: Irritability, data: st.DataObject
) -> None:
    at = data.draw(st.integers(0, len(sessions) - 1))
    place = MORNINGS.index(sessions[at].next_morning)
    worse = changed(
        sessions, at, next_morning=data.draw(st.sampled_from(MORNINGS[place:]))
    )
    assert hardness(asked(worse, dose, level)) <= hardness(asked(sessions, dose, level))


@MANY
@given(sessions=several, dose=doses, level=levels, more=PAIN)
def test_more_usual_pain_now_never_yields_a_harder_suggestion(
    sessions: list[Session], dose: Any, level: Irritability, more: float
) -> None:
    usual = sessions[-1].usual_pain
    worse = [*sessions[:-1], replace(sessions[-1], usual_pain=more)]
    if usual is None or more >= usual:
        assert hardness(asked(worse, dose, level)) <= hardness(
            asked(sessions, dose, level)
        )


@MANY
@given(sessions=several, dose=doses, data=st.data())
def test_more_irritability_never_yields_a_harder_suggestion(
    sessions: list[Session], dose: Any, data: st.DataObject
) -> None:
    order = list(Irritability)
    at = data.draw(st.integers(0, len(order) - 1))
    worse = data.draw(st.sampled_from(order[at:]))
    before, after = asked(sessions, dose, order[at]), asked(sessions, dose, worse)
    assert hardness(after) <= hardness(before)
    if before.change and after.change and after.change.load:
        assert before.change.load
        assert after.change.load.to_kg <= before.change.load.to_kg


@MANY
@given(
    sessions=st.lists(one, max_size=5).map(sessions_of),
    dose=doses,
    level=levels,
    is_advice_on=st.booleans(),
    is_red_flag_undecided=st.booleans(),
    screen=st.sampled_from([*SCREENS, ""]),
)
def test_nothing_is_suggested_past_a_gate(
    sessions: list[Session],
    dose: Any,
    level: Irritability,
    is_advice_on: bool,
    is_red_flag_undecided: bool,
    screen: str,
) -> None:
    found = asked(
        sessions,
        dose,
        level,
        is_advice_on=is_advice_on,
        is_red_flag_undecided=is_red_flag_undecided,
        flow_screen=screen,
    )
    is_closed = not is_advice_on or is_red_flag_undecided
    is_closed |= dose.is_flow_restricted and screen != "clear"
    if is_closed:
        assert (found.kind, found.change) == (Kind.NO_ADVICE, None)


@MANY
@given(sessions=several, dose=doses, level=levels)
def test_a_step_up_needs_two_calm_sessions_and_moves_one_variable(
    sessions: list[Session], dose: Any, level: Irritability
) -> None:
    found = asked(sessions, dose, level)
    change = found.change
    assert (change is None) is (found.kind is Kind.HOLD)
    if change:
        assert sum(p is not None for p in (change.rung, change.load, change.volume)) < 2
    if found.kind is Kind.PROGRESS:
        assert level in (Irritability.LOW, Irritability.MODERATE)
        assert len(sessions) > 1
        for each in sessions[-2:]:
            assert each.pain_during <= 2
            assert each.next_morning is NextMorning.SETTLED
            assert each.sets_done >= 3


@MANY
@given(sessions=several, dose=doses)
def test_a_cuff_never_gets_more_than_forty_per_cent(
    sessions: list[Session], dose: Any
) -> None:
    found = asked(sessions, dose, Irritability.LOW)
    if dose.is_flow_restricted and found.change and found.change.load:
        assert found.change.load.to_kg <= 0.4 * dose.one_rm_kg


@pytest.mark.parametrize("key", FORMULAS)
@settings(max_examples=50, deadline=None)
@given(
    load=st.integers(1, 4999),
    more=st.integers(1, 5000),
    repetitions=st.integers(1, 9),
    over=st.integers(1, 9),
)
def test_formulas_rise_with_load_and_with_repetitions(
    key: str, load: int, more: int, repetitions: int, over: int
) -> None:
    def kg(tenths: int, count: int) -> float:
        found = estimate_maximum(
            load_kg=tenths / 10,
            repetitions=count,
            ending=Ending.NEAR_FAILURE,
            formula=key,
        )
        assert isinstance(found, RepetitionMaximum)
        return found.chosen.kg

    here = kg(load, repetitions)
    assert here >= load / 10
    assert kg(min(load + more, 5000), repetitions) > here
    assert kg(load, min(repetitions + over, 10)) > here


@settings(max_examples=50, deadline=None)
@given(load=st.integers(1, 5000), repetitions=st.integers(-2, 40))
def test_a_set_that_pain_stopped_never_gives_a_number(
    load: int, repetitions: int
) -> None:
    found = estimate_maximum(
        load_kg=load / 10, repetitions=repetitions, ending=Ending.PAIN
    )
    assert not isinstance(found, RepetitionMaximum)
