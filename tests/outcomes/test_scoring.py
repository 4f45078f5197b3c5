"""Scores against the published keys: see the source in each vector file."""

from itertools import product
from typing import Any

import numpy as np
import pytest

from outcomes.science.measures import measure
from outcomes.science.scoring import (
    BadAnswer,
    Estimate,
    Score,
    Unscorable,
    estimate,
    parse_answer,
    score,
    score_table,
)
from tests.outcomes.vectors import vectors

AKPS_POINTS = vectors("akps")["points"]
AKPS_BEST = dict.fromkeys(AKPS_POINTS, "a")
FORMS = [
    pytest.param(key, form, id=f"{key} {form['name']}")
    for key in ("akps", "koos_pf", "lefs", "psfs")
    for form in vectors(key)["forms"]
]


def answers_of(key: str, form: dict[str, Any]) -> dict[str, str | int | None]:
    """The answers of a written form, a dash being a missing item."""
    typed = enumerate(form["answers"].split(), start=1)
    return {
        str(n): None if raw == "-" else parse_answer(measure(key), str(n), raw)
        for n, raw in typed
    }


@pytest.mark.parametrize(
    ("item", "letter", "points"),
    [(i, level, p) for i, row in AKPS_POINTS.items() for level, p in row.items()],
)
def test_each_akps_level_scores_as_published(
    item: str, letter: str, points: int
) -> None:
    best = AKPS_POINTS[item]["a"]
    result = score(measure("akps"), AKPS_BEST | {item: letter})
    assert result == Score(100 - best + points, 13, 13)


def test_the_akps_key_has_54_levels_and_no_others() -> None:
    akps = measure("akps")
    levels = {(i.key, o.code) for i in akps.items for o in i.options}
    assert levels == {(i, level) for i, row in AKPS_POINTS.items() for level in row}
    assert len(levels) == 54


def test_every_akps_total_from_0_to_100_occurs_except_1() -> None:
    """Enumerated by the writer of the reference from the key; derived."""
    reached = {0}
    for item in measure("akps").items:
        reached = {s + o.points for s, o in product(reached, item.options)}
    assert reached == set(range(101)) - {1}


@pytest.mark.parametrize(("key", "form"), FORMS)
def test_a_worked_example_scores_as_written(key: str, form: dict[str, Any]) -> None:
    result = score(measure(key), answers_of(key, form))
    if "score" in form:
        assert isinstance(result, Score)
        assert result.value == pytest.approx(form["score"], abs=1e-9)
    else:
        assert isinstance(result, Unscorable)
        assert list(result.missing) == form["missing"]


@pytest.mark.parametrize(("key", "form"), FORMS)
def test_an_estimate_is_given_only_where_nearly_complete(
    key: str, form: dict[str, Any]
) -> None:
    guess = estimate(measure(key), answers_of(key, form))
    if "estimate" in form:
        assert isinstance(guess, Estimate)
        assert guess.value == pytest.approx(form["estimate"], abs=0.05)
    else:
        assert guess is None


def test_an_estimate_is_not_a_score() -> None:
    assert not issubclass(Estimate, Score)


@pytest.mark.parametrize("dropped", range(1, 14))
def test_the_akps_has_no_total_with_any_item_missing(dropped: int) -> None:
    answers = {k: v for k, v in AKPS_BEST.items() if k != str(dropped)}
    result = score(measure("akps"), answers)
    assert result == Unscorable(
        f"Missing: item {dropped}; all 13 are needed for a score.", (str(dropped),)
    )


def test_the_reason_counts_what_the_koos_pf_still_needs() -> None:
    answers = {str(n): 2 for n in range(1, 6)}
    assert score(measure("koos_pf"), answers) == Unscorable(
        "5 of 11 items answered and at least 6 are needed; missing: items 6, 7, 8, 9, "
        "10 and 11.",
        ("6", "7", "8", "9", "10", "11"),
    )


def test_one_raw_point_of_a_complete_koos_pf_is_2_2727() -> None:
    none, one = ({str(n): 0 for n in range(1, 12)} for _ in range(2))
    one["3"] = 1
    difference = (
        score(measure("koos_pf"), none).value - score(measure("koos_pf"), one).value
    )
    assert difference == pytest.approx(2.2727, abs=5e-5)  # 100/44


def test_the_psfs_counts_the_activities_that_were_named() -> None:
    assert score(measure("psfs"), {"1": 4, "2": None, "7": 5}) == Score(4.5, 2, 3)


def test_the_psfs_takes_five_activities_and_no_sixth() -> None:
    six = {str(n): 5 for n in range(1, 7)}
    with pytest.raises(BadAnswer, match="at most 5 activities"):
        score(measure("psfs"), six)


@pytest.mark.parametrize("rating", range(-7, 8))
def test_a_global_rating_scores_as_itself(rating: int) -> None:
    assert score(measure("groc"), {"overall": rating}) == Score(rating, 1, 1)


def test_an_unanswered_rating_has_no_score() -> None:
    assert score(measure("pain_worst"), {}) == Unscorable(
        "Nothing was answered.", ("overall",)
    )


@pytest.mark.parametrize(
    ("key", "answers"),
    [
        ("akps", {"1": "d"}),
        ("akps", {"1": "A"}),
        ("akps", {"1": 0}),
        ("koos_pf", {"1": 5}),
        ("koos_pf", {"1": -1}),
        ("koos_pf", {"1": "1"}),
        ("koos_pf", {"1": True}),
        ("koos_pf", {"1": 1.5}),
        ("lefs", {"1": float("nan")}),
        ("psfs", {"1": 11}),
        ("groc", {"overall": 8}),
    ],
)
def test_an_unknown_answer_is_refused_not_guessed(
    key: str, answers: dict[str, Any]
) -> None:
    with pytest.raises(BadAnswer) as refused:
        score(measure(key), answers)
    assert refused.value.what == "value"


@pytest.mark.parametrize(
    ("key", "item"),
    [("akps", "14"), ("akps", "01"), ("koos_pf", "0"), ("groc", "1"), ("psfs", "0")],
)
def test_an_unknown_item_is_refused(key: str, item: str) -> None:
    with pytest.raises(BadAnswer) as refused:
        score(measure(key), {item: None})
    assert refused.value.what == "item"


@pytest.mark.parametrize(
    ("key", "item", "raw", "stored"),
    [
        ("akps", "1", "B", "b"),
        ("akps", "9", " e ", "e"),
        ("koos_pf", "11", "4", 4),
        ("groc", "overall", "+5", 5),
        ("groc", "overall", "-7", -7),
        ("pain_worst", "overall", "10", 10),
    ],
)
def test_a_typed_answer_is_read_as_stored(
    key: str, item: str, raw: str, stored: str | int
) -> None:
    assert parse_answer(measure(key), item, raw) == stored


@pytest.mark.parametrize("raw", ["", "4", "d", "aa", "a.", "\u03b1"])
def test_a_wrong_akps_letter_is_told_the_letters_of_its_item(raw: str) -> None:
    with pytest.raises(BadAnswer) as refused:
        parse_answer(measure("akps"), "1", raw)
    assert refused.value.message == "Item 1 takes a letter: a, b or c."


@pytest.mark.parametrize("raw", ["", "5", "-1", "3.0", "1e0", "٣", "²", "0x1", "01"])
def test_a_wrong_number_is_told_the_range(raw: str) -> None:
    with pytest.raises(BadAnswer, match="a whole number from 0 to 4"):
        parse_answer(measure("lefs"), "1", raw)


def test_a_table_marks_unscorable_rows_with_nan() -> None:
    rows = np.full((3, 13), 0)
    rows[1, 4] = -1
    rows[2] = [2, 2, 3, 3, 4, 4, 3, 4, 4, 4, 4, 2, 2]
    scores, answered = score_table(measure("akps"), rows)
    np.testing.assert_array_equal(scores, [100, np.nan, 0])
    np.testing.assert_array_equal(answered, [13, 12, 13])


@pytest.mark.parametrize("wrong", [-2, 3])
def test_a_table_refuses_an_option_that_does_not_exist(wrong: int) -> None:
    rows = np.zeros((1, 13), dtype=int)
    rows[0, 0] = wrong
    with pytest.raises(BadAnswer, match="no such option"):
        score_table(measure("akps"), rows)


def test_a_table_of_the_wrong_width_is_refused() -> None:
    with pytest.raises(BadAnswer, match="13 items, not 12"):
        score_table(measure("akps"), np.zeros((1, 12), dtype=int))


def test_an_empty_table_gives_no_scores() -> None:
    scores, answered = score_table(measure("lefs"), np.zeros((0, 20), dtype=int))
    assert scores.shape == answered.shape == (0,)
