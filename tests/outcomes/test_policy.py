"""Reading, refusing and keeping a site's policy."""

import json
import subprocess
import sys
from dataclasses import fields

import pytest

from clinic.sourced.policy_numbers import PolicyError, Shape
from outcomes.science.policy import POLICY_FIELDS, StallPolicy

# Section 10.2 of the clinical reference, typed apart from the code.
DEFAULTS = {
    "planned_weeks": 12,
    "window_weeks": 8,
    "first_review_weeks": 6,
    "look_spacing_days": 14,
    "overdue_days": 7,
    "not_seen_days": 21,
    "planned_missed_days": 7,
    "baseline_days": 14,
    "pain_during_limit": 5.0,
    "pain_points": 2.0,
    "pain_percent": 30.0,
    "pain_rise": 2.0,
    "goal_pain": 2.0,
    "confidence_z": 1.645,
    "groc_agrees": 4,
    "groc_days": 14,
    "slow_share": 0.5,
    "min_looks_slope": 3,
    "min_looks_plateau": 4,
    "min_weeks_plateau": 4,
    "schedule_weeks": (0, 3, 6, 9, 12),
    "then_every_weeks": 6,
}


@pytest.mark.parametrize("name", DEFAULTS)
def test_defaults_are_those_of_the_reference(name: str) -> None:
    """Every default is the number the reference recommends."""
    assert getattr(StallPolicy(), name) == DEFAULTS[name]


def test_every_setting_shows_its_unit_range_and_reason() -> None:
    """No number is editable without saying what it is and why it is so."""
    assert [item.name for item in POLICY_FIELDS] == [
        item.name for item in fields(StallPolicy)
    ]
    for item in POLICY_FIELDS:
        assert item.label
        assert item.unit
        assert item.reason.endswith(".")
        assert item.mark
        assert item.group
        if item.shape in {Shape.WHOLE, Shape.NUMBER}:
            assert item.low <= item.default <= item.high


def test_nothing_given_is_the_default_policy() -> None:
    """A site that changed nothing has the defaults."""
    assert StallPolicy.from_values({}) == StallPolicy()


def test_form_text_is_read() -> None:
    """Numbers and lists arrive as typed text."""
    policy = StallPolicy.from_values(
        {
            "planned_weeks": " 10 ",
            "pain_points": "1.5",
            "schedule_weeks": "0, 4 8,12",
            "mdc_akps": "9",
            "mcid_akps": "",
        }
    )
    assert policy.planned_weeks == 10
    assert policy.pain_points == 1.5
    assert policy.schedule_weeks == (0, 4, 8, 12)
    assert policy.mdc_for("akps") == 9.0
    assert policy.mcid_for("akps") is None


def test_values_survive_json() -> None:
    """What is stored comes back as the same policy."""
    policy = StallPolicy(planned_weeks=8, schedule_weeks=(0, 4, 8), mcid_lefs=8.0)
    kept = json.loads(json.dumps(policy.to_values()))
    assert StallPolicy.from_values(kept) == policy


def test_a_measure_without_settings_keeps_the_catalogue() -> None:
    """Only primary measures have thresholds of a site's own."""
    policy = StallPolicy(goal_koos_pf=80.0)
    assert policy.goal_for("koos_pf") == 80.0
    assert policy.goal_for("pain_worst") is None


@pytest.mark.parametrize(
    ("name", "raw", "sentence"),
    [
        ("planned_weeks", "3", "Enter a whole number from 4 to 52."),
        ("planned_weeks", "53", "Enter a whole number from 4 to 52."),
        ("planned_weeks", "12.5", "Enter a whole number from 4 to 52."),
        ("planned_weeks", "twelve", "Enter a whole number from 4 to 52."),
        ("planned_weeks", True, "Enter a whole number from 4 to 52."),
        ("planned_weeks", [12], "Enter a whole number from 4 to 52."),
        ("planned_weeks", "", "Enter a whole number from 4 to 52."),
        ("planned_weeks", None, "Enter a whole number from 4 to 52."),
        ("pain_points", "nan", "Enter a number from 1 to 5."),
        ("pain_points", "inf", "Enter a number from 1 to 5."),
        ("pain_points", "2,0", "Enter a number from 1 to 5."),
        ("pain_points", "9" * 400, "Enter a number from 1 to 5."),
        ("mdc_akps", "0", "Enter a number from 1 to 50."),
        ("schedule_weeks", "3, 6", "The first week must be 0, the baseline."),
        ("schedule_weeks", [0, 6, 6], "Each week must be later than the one before"),
        ("schedule_weeks", "0, x", "Enter a whole number from 0 to 104."),
        ("schedule_weeks", "", "Enter whole weeks with commas between"),
        ("schedule_weeks", 12, "Enter whole weeks with commas between"),
        ("colour", "red", "There is no such setting."),
        ("first_review_weeks", 20, "Progress cannot be judged first after"),
        ("early_days", 21, "Must be less than 21 days"),
    ],
)
def test_a_wrong_value_is_refused_in_a_sentence(
    name: str, raw: object, sentence: str
) -> None:
    """The message stands at the field and says what is allowed."""
    with pytest.raises(PolicyError) as refused:
        StallPolicy.from_values({name: raw})
    assert list(refused.value.errors) == [name]
    assert refused.value.errors[name].startswith(sentence)


@pytest.mark.parametrize("weeks", [4, 52])
def test_both_ends_of_a_range_are_allowed(weeks: int) -> None:
    """The range includes its ends."""
    values = {"planned_weeks": weeks, "first_review_weeks": 4}
    assert StallPolicy.from_values(values).planned_weeks == weeks


def test_every_wrong_field_is_named_at_once() -> None:
    """Nobody has to save twice to see two mistakes."""
    with pytest.raises(PolicyError) as refused:
        StallPolicy.from_values({"overdue_days": "x", "goal_pain": 9, "hue": 1})
    assert set(refused.value.errors) == {"overdue_days", "goal_pain", "hue"}


def test_the_policy_needs_no_numeric_library() -> None:
    """A page may import it at start-up."""
    code = "import sys, outcomes.science.policy; print('numpy' in sys.modules)"
    loaded = subprocess.check_output([sys.executable, "-c", code], text=True)
    assert loaded.strip() == "False"
