"""What only the review policy has: numbers of one measure, and what is at odds."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from typing import Any

from clinic.sourced.policy_numbers import Shape, setting

STANDARD = "standard formula"

OWN_THRESHOLDS = "Thresholds of a measure"


def override(what: str, measure: str, *, allowed: tuple[float, float]) -> Any:
    """Return a field that replaces a catalogue number of one measure when filled."""
    return setting(
        None,
        f"{measure}: {what}",
        unit="points",
        allowed=allowed,
        why="Empty keeps the catalogue's number, which is shown with its source.",
        group=OWN_THRESHOLDS,
        mark="see catalogue",
        shape=Shape.OPTIONAL,
    )


def at_odds(values: Mapping[str, Any]) -> dict[str, str]:
    """Return sentences about values that are each possible but not together."""
    errors: dict[str, str] = {}
    planned, weeks = values["planned_weeks"], values["schedule_weeks"]
    if values["first_review_weeks"] > planned:
        errors["first_review_weeks"] = (
            f"Progress cannot be judged first after the planned {planned} weeks."
        )
    gaps = [after - before for before, after in pairwise(weeks)]
    closest = 7 * min([*gaps, values["then_every_weeks"]])
    if values["early_days"] >= closest:
        errors["early_days"] = (
            f"Must be less than {closest} days, the closest two due dates; "
            "otherwise one score would answer for two."
        )
    return errors
