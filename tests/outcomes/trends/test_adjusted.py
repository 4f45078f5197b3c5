"""Change held against a frozen expectation: refusals, groups, and the bare states."""

import json
import random
from datetime import date, timedelta
from typing import Any

import pytest

from outcomes.period_choice import Choice
from outcomes.science.group.adjusted import Model, fit
from outcomes.trends.adjusted import build
from outcomes.trends.adjusted_model import model_cases, model_numbers
from outcomes.trends.expected_groups import shown_sizes
from outcomes.trends.sections import Block
from tests.outcomes.trends.period_data import Case, period_data

YEAR = Choice(from_on=date(2025, 1, 1), until_on=date(2025, 12, 31))
LATER = Choice(from_on=date(2026, 1, 1), until_on=date(2026, 6, 1))
REFERENCE = {"from_on": YEAR.from_on, "until_on": YEAR.until_on}


def caseload(n: int, *, start: date = date(2025, 1, 10), more: int = 0) -> list[Case]:
    """Return cases that gain by their baseline and duration, and some chance."""
    dice = random.Random(23)
    cases = []
    for number in range(n):
        base, months = dice.randint(45, 75), dice.choice((2, 4, 8, 16, 32))
        gain = 30 - 0.3 * base - months / 8 + dice.gauss(0, 5) + more
        cases.append(
            Case(
                opened_on=start + timedelta(days=number % 90),
                scores=[(0, base), (84, round(base + gain))],
                months=months,
                clinician=number % 3 + 1,
            )
        )
    return cases


def reference() -> dict[str, dict[str, Any]]:
    """Return the model of sixty cases, kept as the database keeps it."""
    data = period_data(caseload(60), choice=YEAR)
    numbers = json.loads(json.dumps(model_numbers(data, "akps")))
    return {"model akps": {**REFERENCE, "numbers": numbers}}


def section(cases: list[Case], **more: Any) -> tuple[Block, ...]:
    """Return the blocks for cases after the reference period."""
    stated = {"choice": LATER, "references": reference()}
    return build(period_data(cases, **{**stated, **more})).blocks


def texts(block: Block) -> dict[str, list[str]]:
    """Return the table of a block, by the text of each row's first cell."""
    return {row[0].text: [cell.text for cell in row[1:]] for row in block.table.rows}


# The model


def test_the_kept_model_is_the_fitted_one() -> None:
    """From the frames, through JSON: the same as fitting the numbers at hand."""
    data = period_data(caseload(60), choice=YEAR)
    rows = model_cases(data.cases, "akps")
    by_hand = fit(
        [case.scores[1][1] for case in caseload(60)],
        [case.scores[0][1] for case in caseload(60)],
        [case.months for case in caseload(60)],
    )
    kept = Model.from_plain(reference()["model akps"]["numbers"])
    assert len(rows) == kept.n == 60
    assert [t.estimate for t in kept.terms] == pytest.approx(
        [t.estimate for t in by_hand.terms]
    )


def test_a_model_of_too_few_is_refused_with_both_numbers() -> None:
    """15 patients for each of three coefficients."""
    data = period_data(caseload(44), choice=YEAR)
    with pytest.raises(ValueError, match="44 have an outcome; the model needs 45"):
        model_numbers(data, "akps")
    with pytest.raises(ValueError, match="0 have an outcome"):
        model_numbers(period_data([], choice=YEAR), "akps")


def test_a_model_is_refused_while_outcomes_are_to_come() -> None:
    """A period that ended less than 16 weeks ago knows the early ones alone."""
    choice = Choice(from_on=date(2025, 1, 1), until_on=date(2026, 2, 10))
    with pytest.raises(ValueError, match="Choose 9 Feb 2026 or an earlier day"):
        model_numbers(period_data(caseload(60), choice=choice), "akps")


def test_a_model_of_people_who_began_alike_is_refused() -> None:
    """The same first score sixty times teaches nothing about first scores."""
    cases = [Case(scores=[(0, 60), (84, 60 + n % 9)], months=n + 1) for n in range(60)]
    with pytest.raises(ValueError, match="hardly differ"):
        model_numbers(period_data(cases, choice=YEAR), "akps")


def test_one_knee_of_a_person_and_measured_cases_only() -> None:
    """Second knees and the lost do not shape the model."""
    cases = [
        Case(scores=[(0, 60), (84, 70)], patient=1),
        Case(scores=[(0, 60), (84, 72)], patient=1),
        Case(scores=[(0, 60)], patient=2),
        Case(scores=[(0, 60), (84, 72)], patient=3, measure="lefs"),
    ]
    rows = model_cases(period_data(cases).cases, "akps")
    assert list(rows.index) == [1]
    assert list(rows["follow_up"]) == [70]


# Held against it


def test_cases_that_gain_as_before_are_no_signal() -> None:
    """Sixty cases of the same making lie within chance."""
    blocks = section(caseload(60, start=date(2026, 1, 1)), on=date(2026, 12, 1))
    assert blocks[0].says.startswith("60 cases changed by +")
    assert "no more than chance alone can bring" in blocks[0].says
    assert "No clinician's cases differ" in blocks[1].says


def test_cases_that_gain_more_are_told_apart_by_as_much() -> None:
    """Six points more for all: the difference says about six."""
    blocks = section(caseload(60, start=date(2026, 1, 1), more=6), on=date(2026, 12, 1))
    assert "more than chance alone would often bring" in blocks[0].says
    for numbers in texts(blocks[1]).values():
        assert numbers[0] == "20"
        assert 3 < float(numbers[3]) < 9


def test_clinicians_stand_in_order_of_name_and_months_in_order_of_time() -> None:
    """No ranking; recent months are marked as incomplete."""
    cases = caseload(60, start=date(2026, 1, 1), more=6)
    blocks = section(cases, on=date(2026, 6, 20))
    assert list(texts(blocks[1])) == ["Bram Ocketts", "Juno Pellavar", "Maud Everlook"]
    months = list(texts(blocks[2]))
    assert months[0] == "Mar 2026"
    assert months[-1] == "May 2026, incomplete"
    assert sum(int(numbers[0]) for numbers in texts(blocks[2]).values()) == blocks[2].n


def test_a_clinician_below_the_floor_cannot_be_worked_out() -> None:
    """One with four cases is hidden, and so is the smaller of the other two."""
    cases = [
        Case(
            opened_on=date(2026, 1, 5),
            scores=[(0, 50 + n), (84, 64 + n)],
            clinician=1 if n < 4 else 2 if n < 15 else 3,
        )
        for n in range(30)
    ]
    blocks = section(cases)
    rows = texts(blocks[1])
    assert [numbers[1] == "\N{EN DASH}" for numbers in rows.values()] == [
        True,
        True,
        False,
    ]


@pytest.mark.parametrize(
    ("sizes", "shown"),
    [
        ([], []),
        ([12, 30], [True, True]),
        ([4, 30], [False, False]),
        ([4, 12, 30], [False, False, True]),
        ([4, 6, 12], [False, False, True]),
        ([0, 12, 30], [False, True, True]),
        ([4], [False]),
    ],
)
def test_no_hidden_group_is_the_only_one(sizes: list[int], shown: list[bool]) -> None:
    """What is hidden is the whole less what is shown, so it must be two or none."""
    assert shown_sizes(sizes, 10) == shown


def test_the_period_of_the_model_is_named_with_what_it_does_not_cover() -> None:
    """Dates, overlap, and first scores that the model never saw."""
    inside = section(caseload(60), choice=YEAR)
    assert any("opened 1 Jan 2025 to 31 Dec 2025" in note for note in inside[0].notes)
    assert any("overlap with the reference period" in note for note in inside[0].notes)
    cases = [Case(opened_on=date(2026, 1, 5), scores=[(0, 20), (84, 40)])] * 12
    far = section(cases)
    assert any(note.startswith("12 cases began outside") for note in far[0].notes)
    assert not any("overlap" in note for note in far[0].notes)


def test_without_a_reference_nothing_is_adjusted_and_it_says_what_is_needed() -> None:
    """The reason and both numbers, before a lead tries."""
    block, pull = section(caseload(20, start=date(2026, 1, 1)), references={})
    assert block.says.startswith("No reference period is declared for AKPS")
    assert "needs 45 patients" in block.says
    assert texts(block) == {"AKPS": ["20", "45"]}
    assert pull.title.endswith("do the worse gain more?")


def test_each_measure_has_its_own_model() -> None:
    """The AKPS has one, the LEFS has none."""
    cases = [
        *caseload(12, start=date(2026, 1, 1)),
        Case(opened_on=date(2026, 1, 5), measure="lefs", scores=[(0, 40), (84, 52)]),
    ]
    says = [block.says for block in section(cases)]
    assert says[0].startswith("12 cases changed")
    assert any("No reference period is declared for LEFS" in said for said in says)


# Regression to the mean, coupling


def test_the_pull_to_the_mean_is_put_in_numbers() -> None:
    """And the worse are asked for by Oldham's correlation, not by the first score."""
    pull = section(caseload(60, start=date(2026, 1, 1)), on=date(2026, 12, 1))[-1]
    assert pull.says.startswith("Measurement error alone would show about +")
    numbers = texts(pull)
    assert numbers["Standard error of measurement in force"] == ["4.7"]
    gain = numbers["Gain from error alone, of those who began worse than the mean"]
    assert float(gain[0]) > 0
    assert "Correlation of change with the mean of both scores" in numbers


def test_cautions_name_regression_to_the_mean_and_coupling() -> None:
    """Each once, and what the model leaves out."""
    cautions = " ".join(build(period_data([])).cautions)
    assert cautions.count("regression to the mean") == 1
    assert cautions.count("mathematical coupling") == 1
    assert "not a judgement" in cautions


def test_no_figure_sets_change_against_the_first_score() -> None:
    """By month and by clinician only."""
    blocks = section(caseload(60, start=date(2026, 1, 1)), on=date(2026, 12, 1))
    figures = [block.figure for block in blocks if block.figure]
    assert len(figures) == 2
    for figure in figures:
        titles = json.dumps(figure.data["layout"])
        assert "first score" not in titles.lower()
        assert "baseline" not in titles.lower().replace('"name": "baseline"', "")


# The five bare states, with a model in force


def one(gain: int = 12, **more: Any) -> Case:
    """Return a case of the later period."""
    base = more.pop("base", 60)
    scores = more.pop("scores", [(0, base), (84, base + gain)])
    return Case(opened_on=date(2026, 1, 5), scores=scores, **more)


def test_an_empty_clinic() -> None:
    """There is nothing to compare, and it says so."""
    (block,) = section([])
    assert block.says.startswith("No case was opened")


def test_one_patient() -> None:
    """A single case is not held against a mean."""
    blocks = section([one()])
    assert blocks[0].says.startswith("1 case with an outcome: from 10 on")
    assert len(blocks) == 1


def test_all_lost() -> None:
    """Nobody has an outcome: all are left out and counted."""
    blocks = section([one(scores=[(0, 60)]) for _ in range(12)])
    assert blocks[0].says == "No case chosen has an outcome by the AKPS yet."
    assert [left.count for left in blocks[0].left_out] == [12]


def test_all_at_the_ceiling() -> None:
    """The model expects little there; equal first scores give no pull to compute."""
    blocks = section([one(gain=0, base=98) for _ in range(12)])
    assert blocks[0].n == 12
    assert blocks[-1].says.startswith("Too few cases with differing first scores")


def test_one_clinician() -> None:
    """One name, no talk of luck among several."""
    cases = [one(gain=10 + n % 7, base=50 + n % 20) for n in range(24)]
    blocks = section(cases)
    assert list(texts(blocks[1])) == ["Bram Ocketts"]
    assert not any("by luck alone" in note for note in blocks[1].notes)
