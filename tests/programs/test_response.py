"""The decision table of the response advice, a test a row."""

import pytest

from clinic.models import Episode
from clinic.sourced.sources import MARKS
from programs.dosing.limits import DosingPolicy
from programs.dosing.loading import Irritability
from programs.dosing.no_estimate import NoEstimate
from programs.dosing.response import (
    CLINICIAN_DECIDES,
    NextMorning,
    next_morning,
    suggest,
)
from programs.dosing.response_rules import RULES, Kind
from programs.models import NextMorning as Stored
from tests.programs.lines import DAY, dose_of, gates_of, known, sessions_of, suggested
from tests.programs.vectors import vectors

VECTORS = vectors("response")
ROWS = VECTORS["rows"]
CALM = [[1, "settled", 3, 3, 2], [1, "settled", 3, 3, 2]]


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["name"])
def test_decision_table(row: dict) -> None:
    found = suggested(row)
    assert (found.kind, found.rule) == (row["kind"], row["rule"])
    change = found.change
    assert (change.variable if change else None) == row.get("variable")
    if change is None:
        return
    assert row.get("rung") == (change.rung.key if change.rung else None)
    if "load" in row:
        assert change.load and change.load.to_kg == row["load"]
    if "volume" in row:
        volume = change.volume
        assert volume and [volume.sets, volume.repetitions] == row["volume"]
    assert row.get("says", "") in change.sentence


def test_every_rule_has_a_row() -> None:
    assert {row["rule"] for row in ROWS} == set(RULES)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["name"])
def test_every_suggestion_has_a_sentence_a_source_and_the_reminder(row: dict) -> None:
    found = suggested(row)
    assert found.sentence.endswith(".")
    assert "{" not in found.sentence and "None" not in found.sentence
    assert found.source.mark in MARKS
    assert found.reminder == CLINICIAN_DECIDES
    assert found.kind is RULES[found.rule].kind


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["name"])
def test_a_change_is_one_variable_and_only_where_something_changes(row: dict) -> None:
    found = suggested(row)
    change = found.change
    assert (change is not None) is (found.kind in (Kind.EASE_OFF, Kind.PROGRESS))
    if change:
        filled = [part for part in (change.rung, change.load, change.volume) if part]
        assert len(filled) <= 1


def test_words_name_outcomes_without_colours() -> None:
    assert [kind.words for kind in Kind] == [
        "Ease off",
        "Hold",
        "Progress",
        "No advice",
    ]
    assert CLINICIAN_DECIDES == "The clinician decides; local rules apply."


def test_the_sentence_shows_the_numbers() -> None:
    found = suggested({"sessions": [[6.5, "settled", 3, 3, 0]]})
    assert found.sentence == "Pain during the session was 6.5, above the limit of 5."


def test_a_sites_limits_decide() -> None:
    """Pain of 3 is easy where a site says so, and too much where its limit is 2."""
    three = sessions_of([[3, "settled", 3, 3, 2], [3, "settled", 3, 3, 2]])
    kinds = {}
    for name, values in {
        "default": {},
        "wide": {"easy_pain": 3},
        "narrow": {"easy_pain": 1, "pain_limit": 2},
    }.items():
        found = suggest(
            sessions=three,
            dose=dose_of(),
            irritability=Irritability.LOW,
            gates=gates_of(),
            on=DAY,
            policy=DosingPolicy.from_values(values),
        )
        kinds[name] = found.kind
    assert kinds == {
        "default": Kind.HOLD,
        "wide": Kind.PROGRESS,
        "narrow": Kind.EASE_OFF,
    }


def test_a_site_may_ask_for_three_calm_sessions() -> None:
    policy = DosingPolicy.from_values({"calm_sessions": 3})
    kinds = [
        suggest(
            sessions=sessions_of([[1, "settled", 3, 3, 2]] * many),
            dose=dose_of(),
            irritability=Irritability.LOW,
            gates=gates_of(),
            on=DAY,
            policy=policy,
        ).kind
        for many in (2, 3)
    ]
    assert kinds == [Kind.HOLD, Kind.PROGRESS]


def test_the_order_in_which_sessions_are_handed_over_does_not_matter() -> None:
    done = sessions_of([[6, "flare", 3, 3, 0], [1, "settled", 3, 3, 2]])
    for order in (done, done[::-1]):
        found = suggest(
            sessions=order,
            dose=dose_of(),
            irritability=Irritability.LOW,
            gates=gates_of(),
            on=DAY,
        )
        assert found.rule == "too_few_calm_sessions"


@pytest.mark.parametrize("row", VECTORS["mornings"])
def test_the_next_morning_is_named_against_usual_pain(row: dict) -> None:
    found = next_morning(
        usual_pain=row["usual"],
        morning_pain=row["morning"],
        is_settled_in_a_day=row["is_settled"],
    )
    assert found == row["found"]


@pytest.mark.parametrize("row", VECTORS["no_mornings"])
def test_a_morning_without_two_ratings_gets_a_reason(row: dict) -> None:
    found = next_morning(
        usual_pain=known(row["usual"]),
        morning_pain=known(row["morning"]),
        is_settled_in_a_day=True,
    )
    assert isinstance(found, NoEstimate)


def test_the_words_are_those_of_the_record() -> None:
    """The stored choices and the pure ones are the same words."""
    assert set(Stored.values) == {each.value for each in NextMorning}
    assert set(Episode.Irritability.values) == {each.value for each in Irritability}
