"""Properties that hold for any answers, whichever the measure."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from outcomes.science.measures import Direction, catalogue, measure
from outcomes.science.scoring import Score, score, score_table

KEYS = tuple(catalogue())
# In the KOOS family more points mean more trouble, so better answers come first.
FALLING = {"koos_pf"}


@st.composite
def forms(draw: st.DrawFn, key: str, *, may_miss: bool = False) -> list[int]:
    """Option indexes of one form, -1 being a missing item."""
    least = -1 if may_miss else 0
    return [
        draw(st.integers(least, len(item.options) - 1)) for item in measure(key).items
    ]


def as_answers(key: str, indexes: list[int]) -> dict[str, str | int]:
    items = measure(key).items
    return {
        item.key: item.options[at].code
        for item, at in zip(items, indexes, strict=True)
        if at >= 0
    }


def points(key: str, item: int, at: int) -> float:
    sign = -1 if key in FALLING else 1
    return sign * measure(key).items[item].options[at].points


@pytest.mark.parametrize("key", KEYS)
@settings(max_examples=40, deadline=None)
@given(data=st.data())
def test_more_points_on_one_item_never_lower_the_score(
    key: str, data: st.DataObject
) -> None:
    indexes = data.draw(forms(key))
    item = data.draw(st.integers(0, len(indexes) - 1))
    other = data.draw(st.integers(0, len(measure(key).items[item].options) - 1))
    changed = [*indexes[:item], other, *indexes[item + 1 :]]
    before = score(measure(key), as_answers(key, indexes)).value
    after = score(measure(key), as_answers(key, changed)).value
    step = points(key, item, other) - points(key, item, indexes[item])
    assert math.copysign(1, after - before) == math.copysign(1, step) or step == 0
    assert (after == before) == (step == 0)


@pytest.mark.parametrize("key", KEYS)
def test_the_range_is_reached_at_both_ends(key: str) -> None:
    about = measure(key)
    ends = []
    for pick in (min, max):
        chosen = {
            item.key: pick(item.options, key=lambda option: option.points).code
            for item in about.items
        }
        ends.append(score(about, chosen).value)
    assert sorted(ends) == [about.low, about.high]


@pytest.mark.parametrize("key", KEYS)
@settings(max_examples=40, deadline=None)
@given(data=st.data())
def test_no_form_scores_outside_the_range(key: str, data: st.DataObject) -> None:
    result = score(measure(key), as_answers(key, data.draw(forms(key, may_miss=True))))
    if isinstance(result, Score):
        assert measure(key).low <= result.value <= measure(key).high


@pytest.mark.parametrize("key", KEYS)
@settings(max_examples=40, deadline=None)
@given(data=st.data())
def test_the_order_of_the_answers_does_not_matter(
    key: str, data: st.DataObject
) -> None:
    answers = as_answers(key, data.draw(forms(key, may_miss=True)))
    shuffled = dict(data.draw(st.permutations(list(answers.items()))))
    assert score(measure(key), shuffled) == score(measure(key), answers)


@pytest.mark.parametrize("key", KEYS)
@settings(max_examples=40, deadline=None)
@given(data=st.data())
def test_a_table_agrees_with_one_form_at_a_time(key: str, data: st.DataObject) -> None:
    table = data.draw(st.lists(forms(key, may_miss=True), min_size=1, max_size=8))
    scores, answered = score_table(measure(key), np.array(table))
    for indexes, value, count in zip(table, scores, answered, strict=True):
        one = score(measure(key), as_answers(key, indexes))
        assert count == sum(at >= 0 for at in indexes)
        if isinstance(one, Score):
            assert value == one.value
            assert count == one.answered
        else:
            assert np.isnan(value)


@given(st.floats(-1e6, 1e6), st.floats(-1e6, 1e6))
def test_the_two_directions_mirror_each_other(baseline: float, current: float) -> None:
    higher = Direction.HIGHER.gain(baseline, current)
    assert higher == -Direction.LOWER.gain(baseline, current)
    assert higher == -Direction.HIGHER.gain(current, baseline)


def test_a_gain_is_the_same_on_arrays() -> None:
    baseline, current = np.array([7.0, 4.0]), np.array([4.0, 6.0])
    np.testing.assert_array_equal(Direction.LOWER.gain(baseline, current), [3, -2])
