"""The dosing policy: its defaults, their reasons, and what is refused."""

import json
from dataclasses import fields

import pytest

from clinic.sourced.policy_numbers import PolicyError, Shape
from clinic.sourced.sources import MARKS
from programs.dosing.limits import (
    DOSING_FIELDS,
    DosingPolicy,
)

# Sections 11.1 to 11.5 of the clinical reference, typed apart from the code.
DEFAULTS = {
    "easy_pain": 2,
    "pain_limit": 5,
    "morning_flare": 2,
    "usual_rise": 1,
    "irritable_pain": 7,
    "calm_sessions": 2,
    "window_days": 21,
    "repetitions_over": 1,
    "step_least": 2,
    "step_most": 10,
    "cut_least": 20,
    "cut_most": 30,
    "formula": "epley",
    "most_repetitions": 10,
    "most_load": 500,
    "flow_load_least": 20,
    "flow_load_most": 40,
    "flow_pressure_least": 40,
    "flow_pressure_most": 80,
    "occlusion_least": 80,
    "occlusion_most": 300,
    "flow_rest_least": 30,
    "flow_rest_most": 60,
    "flow_minutes": 20,
    "flow_week_least": 2,
    "flow_week_most": 3,
    "screen_months": 3,
}
# Published or recommended ends that a site may narrow but not widen.
NARROWING_ONLY = {
    "pain_limit": 6,
    "calm_sessions": 1,
    "step_most": 12,
    "most_repetitions": 12,
    "flow_load_most": 50,
    "flow_load_least": 10,
    "flow_pressure_most": 100,
    "flow_pressure_least": 30,
    "flow_minutes": 30,
    "flow_week_most": 4,
    "occlusion_least": 60,
    "occlusion_most": 320,
    "screen_months": 6,
}


def test_defaults_are_those_of_the_reference() -> None:
    assert DosingPolicy().to_values() == DEFAULTS


def test_every_setting_shows_its_unit_range_and_reason() -> None:
    assert [item.name for item in DOSING_FIELDS] == [
        item.name for item in fields(DosingPolicy)
    ]
    for item in DOSING_FIELDS:
        assert item.label
        assert item.unit
        assert item.group
        assert item.reason.endswith(".")
        assert item.mark in MARKS
        if item.shape is Shape.CHOICE:
            assert item.default in item.choices
        else:
            assert item.low <= item.default <= item.high


@pytest.mark.parametrize(("name", "value"), NARROWING_ONLY.items())
def test_a_site_may_not_widen_a_safe_range(name: str, value: float) -> None:
    with pytest.raises(PolicyError) as refusal:
        DosingPolicy.from_values({name: value})
    assert "Enter a" in refusal.value.errors[name]


def test_form_text_is_read_and_json_brings_it_back() -> None:
    policy = DosingPolicy.from_values({"easy_pain": " 3 ", "formula": "wathan"})
    assert (policy.easy_pain, policy.formula) == (3.0, "wathan")
    kept = json.loads(json.dumps(policy.to_values()))
    assert DosingPolicy.from_values(kept) == policy


@pytest.mark.parametrize(
    ("values", "field", "says"),
    [
        ({"easy_pain": "much"}, "easy_pain", "Enter a number from 0 to 3."),
        ({"easy_pain": True}, "easy_pain", "Enter a number"),
        ({"easy_pain": None}, "easy_pain", "Enter a number"),
        ({"easy_pain": "nan"}, "easy_pain", "Enter a number"),
        ({"calm_sessions": 2.5}, "calm_sessions", "Enter a whole number"),
        ({"formula": "own"}, "formula", "Choose one of epley"),
        ({"unheard_of": 1}, "unheard_of", "no such setting"),
        ({"cut_least": 40}, "cut_most", "not be below the lower end, 40"),
        ({"step_least": 8, "step_most": 5}, "step_most", "lower end, 8"),
        ({"easy_pain": 3, "pain_limit": 3}, "pain_limit", "above the easy zone, 3"),
        (
            {"flow_load_least": 40, "flow_load_most": 30},
            "flow_load_most",
            "lower end, 40",
        ),
    ],
)
def test_what_makes_no_policy_is_said_by_field(
    values: dict, field: str, says: str
) -> None:
    with pytest.raises(PolicyError) as refusal:
        DosingPolicy.from_values(values)
    assert says in refusal.value.errors[field]
