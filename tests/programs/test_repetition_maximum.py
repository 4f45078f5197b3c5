"""Repetition maxima: published formulas, their spread, and what gives none."""

import pytest

from clinic.sourced.sources import MARKS
from programs.dosing.limits import FORMULA_KEYS, DosingPolicy
from programs.dosing.no_estimate import NoEstimate
from programs.dosing.repetition_maximum import (
    FORMULAS,
    NOT_WHEN_IRRITABLE,
    SAME_FORMULA,
    Ending,
    LegPressMaximum,
    RepetitionMaximum,
    estimate_maximum,
    leg_press_maximum,
)
from tests.programs.vectors import vectors

VECTORS = vectors("repetition_maximum")


def estimated(load: float | None, repetitions: float | None, **more: object):
    """Estimate from a set that ended near failure."""
    return estimate_maximum(
        load_kg=load, repetitions=repetitions, ending=Ending.NEAR_FAILURE, **more
    )


@pytest.mark.parametrize("row", VECTORS["sets"])
def test_every_formula_gives_its_published_value(row: dict) -> None:
    found = estimated(row["load"], row["repetitions"])
    assert isinstance(found, RepetitionMaximum)
    assert [e.key for e in found.estimates] == VECTORS["formulas"]
    assert [e.kg for e in found.estimates] == pytest.approx(row["kg"], abs=0.005)


@pytest.mark.parametrize("row", VECTORS["refused"])
def test_out_of_range_gets_a_reason_and_no_number(row: dict) -> None:
    found = estimated(row["load"], row["repetitions"])
    assert isinstance(found, NoEstimate)
    assert found.field == row["field"]
    assert row["says"] in found.reason


@pytest.mark.parametrize(
    ("load", "repetitions", "field"),
    [(None, 5, "load_kg"), (60, None, "repetitions"), (True, 5, "load_kg")],
)
def test_a_missing_or_odd_entry_gets_a_reason(
    load: float | None, repetitions: int | None, field: str
) -> None:
    found = estimated(load, repetitions)
    assert isinstance(found, NoEstimate)
    assert found.field == field


def test_a_set_that_pain_stopped_is_no_maximum() -> None:
    """Not even with numbers that would otherwise fit, as a word or as a member."""
    for ending in (Ending.PAIN, "pain"):
        found = estimate_maximum(load_kg=60, repetitions=8, ending=ending)
        assert found == NoEstimate(
            "Pain stopped the set, so it is no maximum.", "ending"
        )
        assert isinstance(
            leg_press_maximum(load_kg=100, repetitions=5, ending=ending), NoEstimate
        )


@pytest.mark.parametrize("ending", [Ending.IN_RESERVE, "", "unheard_of"])
def test_only_a_set_near_failure_gives_an_estimate(ending: str) -> None:
    found = estimate_maximum(load_kg=60, repetitions=8, ending=ending)
    assert isinstance(found, NoEstimate)
    assert found.field == "ending"


def test_the_spread_between_formulas_is_shown_with_their_names() -> None:
    """60 kg x 8: O'Conner 72.00 to Wathan 76.60, 4.60 kg or 6.1 % of Epley's 76."""
    found = estimated(60, 8)
    assert isinstance(found, RepetitionMaximum)
    assert (found.chosen.name, found.lowest.name, found.highest.name) == (
        "Epley",
        "O'Conner",
        "Wathan",
    )
    assert found.spread_kg == pytest.approx(4.60, abs=0.005)
    assert found.spread_percent == pytest.approx(6.05, abs=0.01)
    assert found.notes == (SAME_FORMULA,)


def test_the_chosen_formula_is_the_sites_unless_one_is_named() -> None:
    site = DosingPolicy.from_values({"formula": "brzycki"})
    assert estimated(60, 8, policy=site).chosen.key == "brzycki"
    assert estimated(60, 8, policy=site, formula="wathan").chosen.key == "wathan"
    assert isinstance(estimated(60, 8, formula="own"), NoEstimate)


def test_a_site_may_ask_for_fewer_repetitions() -> None:
    site = DosingPolicy.from_values({"most_repetitions": 5})
    assert isinstance(estimated(60, 5, policy=site), RepetitionMaximum)
    assert isinstance(estimated(60, 6, policy=site), NoEstimate)


def test_high_irritability_brings_the_caution() -> None:
    assert NOT_WHEN_IRRITABLE in estimated(60, 8, is_highly_irritable=True).notes


def test_epley_and_brzycki_meet_at_ten() -> None:
    found = estimated(87.5, 10)
    by_key = {each.key: each.kg for each in found.estimates}
    assert by_key["epley"] == pytest.approx(by_key["brzycki"])


@pytest.mark.parametrize("row", VECTORS["leg_press"])
def test_leg_press_from_five_repetitions(row: dict) -> None:
    found = leg_press_maximum(
        load_kg=row["load"], repetitions=5, ending=Ending.NEAR_FAILURE
    )
    assert isinstance(found, LegPressMaximum)
    assert found.kg == pytest.approx(row["kg"], abs=1e-4)
    assert found.standard_error_kg == 16.2
    assert "Reynolds" in found.source.citation


@pytest.mark.parametrize("repetitions", [4, 6, 11, None])
def test_the_leg_press_equation_is_for_five_only(repetitions: int | None) -> None:
    found = leg_press_maximum(
        load_kg=100, repetitions=repetitions, ending=Ending.NEAR_FAILURE
    )
    assert isinstance(found, NoEstimate)


def test_every_formula_is_offered_and_sourced() -> None:
    assert tuple(FORMULAS) == FORMULA_KEYS
    assert all(each.source.mark in MARKS for each in FORMULAS.values())
