"""The numbers a site may set for its review prompts, each with its reason.

Source of the set: section 10.2 of the project's clinical reference. Unless a
setting's mark says otherwise, its number is an assumption of this project.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

from clinic.sourced.policy_numbers import (
    PolicyError,
    Shape,
    fields_of,
    read_values,
    setting,
)
from clinic.sourced.sources import CONFIRMED, MEMORY

from .policy_settings import STANDARD, at_odds, override

MEASURES_WITH_OVERRIDES = ("akps", "koos_pf", "lefs", "psfs")

_TIME = "Time and schedule"
_SCORES = "Scores"
_PAIN = "Pain"
_SEEN = "Attendance"
_MDC, _MCID, _GOAL = "smallest detectable change", "important change", "goal"


@dataclass(frozen=True, slots=True, kw_only=True)
class StallPolicy:
    """Every number the review prompts use; the defaults are the project's own."""

    planned_weeks: int = setting(
        12,
        "Planned length of care",
        unit="weeks",
        allowed=(4, 52),
        group=_TIME,
        why="Trials of exercise for patellofemoral pain commonly measure at 12 "
        "weeks (for example Hansen 2023). The important change divided by these "
        "weeks is the expected rate.",
    )
    first_review_weeks: int = setting(
        6,
        "First judgement of progress",
        unit="weeks",
        allowed=(2, 26),
        group=_TIME,
        why="Half of the planned time; earlier, noise outweighs any real change.",
    )
    window_weeks: int = setting(
        8,
        "Window for the recent slope",
        unit="weeks",
        allowed=(4, 26),
        group=_TIME,
        why="Holds three scores of the default schedule.",
    )
    schedule_weeks: tuple[int, ...] = setting(
        (0, 3, 6, 9, 12),
        "Re-measure in weeks",
        unit="weeks after opening",
        allowed=(0, 104),
        group=_TIME,
        shape=Shape.WEEKS,
        why="Gives two scores before the first judgement and five by week 12. "
        "An episode may have its own; the others follow this one.",
    )
    then_every_weeks: int = setting(
        6,
        "Then re-measure every",
        unit="weeks",
        allowed=(1, 52),
        group=_TIME,
        why="Wide enough not to tire the patient after the planned time.",
    )
    early_days: int = setting(
        7,
        "A score counts for a due date up to",
        unit="days before it",
        allowed=(0, 28),
        group=_TIME,
        why="Visits rarely fall on the due day itself.",
    )
    overdue_days: int = setting(
        7,
        "Re-measure is overdue after",
        unit="days past the due date",
        allowed=(0, 56),
        group=_TIME,
        why="One more weekly visit to catch up before a prompt.",
    )
    baseline_days: int = setting(
        14,
        "Baseline belongs within",
        unit="days of opening",
        allowed=(0, 56),
        group=_TIME,
        why="Later, part of the early change is already missed. The same number "
        "of days before opening is accepted.",
    )
    look_spacing_days: int = setting(
        14,
        "Scores count as two when apart by",
        unit="days",
        allowed=(1, 56),
        group=_SCORES,
        why="Two answers in one bad week share that week's flare.",
    )
    min_looks_slope: int = setting(
        3,
        "Scores needed for a recent slope",
        unit="scores",
        allowed=(3, 8),
        group=_SCORES,
        why="Two points always make a line. With fewer, the total gain since the "
        "baseline is used instead.",
    )
    slow_share: float = setting(
        0.5,
        "Slow means a slope below this share of the expected rate",
        unit="share",
        allowed=(0.1, 1.0),
        group=_SCORES,
        shape=Shape.NUMBER,
        why="Half-way between no change and the expected rate, so both errors "
        "weigh the same.",
    )
    confidence_z: float = setting(
        1.645,
        "Standard errors in a one-sided limit",
        unit="standard errors",
        allowed=(1.0, 3.3),
        group=_SCORES,
        shape=Shape.NUMBER,
        mark=STANDARD,
        why="1.645 is the one-sided 95 % point of the normal distribution.",
    )
    min_looks_plateau: int = setting(
        4,
        "Scores needed to support a plateau",
        unit="scores",
        allowed=(4, 12),
        group=_SCORES,
        why="No accepted definition of a plateau exists (Demain 2006, Page 2004). "
        "With four scores the rule still misses most truly flat courses.",
    )
    min_weeks_plateau: int = setting(
        4,
        "Weeks needed to support a plateau",
        unit="weeks",
        allowed=(4, 52),
        group=_SCORES,
        why="A shorter course cannot tell flat from slow.",
    )
    groc_agrees: int = setting(
        4,
        "Patient reports clear improvement from a global rating of",
        unit="points on -7 to +7",
        allowed=(1, 7),
        group=_SCORES,
        mark=MEMORY,
        why="+4 is a convention for a meaningful change; no one source settles it. "
        "The same size below 0 counts as clearly worse (project assumption).",
    )
    groc_days: int = setting(
        14,
        "Global rating belongs to a score within",
        unit="days",
        allowed=(0, 56),
        group=_SCORES,
        why="The same fortnight as the scores it is held against.",
    )
    pain_points: float = setting(
        2.0,
        "Worst pain counts as better from a fall of",
        unit="points",
        allowed=(1.0, 5.0),
        group=_PAIN,
        shape=Shape.NUMBER,
        mark=CONFIRMED,
        why="2 cm on a 10 cm scale in patellofemoral pain (Crossley 2004, "
        "doi:10.1016/S0003-9993(03)00613-0).",
    )
    pain_percent: float = setting(
        30.0,
        "and of at least",
        unit="per cent of the first value",
        allowed=(10.0, 70.0),
        group=_PAIN,
        shape=Shape.NUMBER,
        mark=CONFIRMED,
        why="About 30 % in chronic pain trials (Farrar 2001, "
        "doi:10.1016/S0304-3959(01)00349-9).",
    )
    pain_rise: float = setting(
        2.0,
        "Worst pain counts as worse from a rise of",
        unit="points",
        allowed=(1.0, 5.0),
        group=_PAIN,
        shape=Shape.NUMBER,
        why="The mirror of the fall that counts, asked for twice running.",
    )
    goal_pain: float = setting(
        2.0,
        "At goal when worst pain is at most",
        unit="of 10",
        allowed=(0.0, 5.0),
        group=_PAIN,
        shape=Shape.NUMBER,
        why="Pain this low leaves no room for a fall that counts.",
    )
    pain_during_limit: float = setting(
        5.0,
        "Agreed limit of pain during exercise",
        unit="of 10",
        allowed=(0.0, 9.0),
        group=_PAIN,
        shape=Shape.NUMBER,
        why="Common upper end of acceptable pain in loading programmes; local "
        "agreements come first. A prompt needs more than this.",
    )
    not_seen_days: int = setting(
        21,
        "Not seen: no attended visit for",
        unit="days",
        allowed=(7, 180),
        group=_SEEN,
        why="Three weeks without a visit and none planned is how people get lost.",
    )
    planned_missed_days: int = setting(
        7,
        "Planned visit counts as missed after",
        unit="days",
        allowed=(0, 60),
        group=_SEEN,
        why="A week to rebook before a prompt.",
    )
    mdc_akps: float | None = override(_MDC, "AKPS", allowed=(1, 50))
    mcid_akps: float | None = override(_MCID, "AKPS", allowed=(1, 50))
    goal_akps: float | None = override(_GOAL, "AKPS", allowed=(1, 100))
    mdc_koos_pf: float | None = override(_MDC, "KOOS-PF", allowed=(1, 50))
    mcid_koos_pf: float | None = override(_MCID, "KOOS-PF", allowed=(1, 50))
    goal_koos_pf: float | None = override(_GOAL, "KOOS-PF", allowed=(1, 100))
    mdc_lefs: float | None = override(_MDC, "LEFS", allowed=(1, 40))
    mcid_lefs: float | None = override(_MCID, "LEFS", allowed=(1, 40))
    goal_lefs: float | None = override(_GOAL, "LEFS", allowed=(1, 80))
    mdc_psfs: float | None = override(_MDC, "PSFS", allowed=(0.5, 8))
    mcid_psfs: float | None = override(_MCID, "PSFS", allowed=(0.5, 8))
    goal_psfs: float | None = override(_GOAL, "PSFS", allowed=(1, 10))

    def mdc_for(self, measure_key: str) -> float | None:
        """Return the site's detectable change in points, None for the catalogue's."""
        return self._own("mdc", measure_key)

    def mcid_for(self, measure_key: str) -> float | None:
        """Return the site's important change in points, None for the catalogue's."""
        return self._own("mcid", measure_key)

    def goal_for(self, measure_key: str) -> float | None:
        """Return the site's goal in points, None for the catalogue's."""
        return self._own("goal", measure_key)

    def _own(self, what: str, measure_key: str) -> float | None:
        if measure_key not in MEASURES_WITH_OVERRIDES:
            return None
        value: float | None = getattr(self, f"{what}_{measure_key}")
        return value

    def to_values(self) -> dict[str, Any]:
        """Return the policy as plain values that JSON can hold."""
        values = {item.name: getattr(self, item.name) for item in fields(self)}
        return values | {"schedule_weeks": list(self.schedule_weeks)}

    @classmethod
    def from_values(cls, values: Mapping[str, object]) -> StallPolicy:
        """Return the policy typed into a form or kept as JSON.

        A field left out keeps its default. Raises PolicyError with a sentence for
        every field that is unknown, malformed, out of range or at odds with
        another.
        """
        policy = cls(**read_values(POLICY_FIELDS, values))
        if errors := at_odds(policy.to_values()):
            raise PolicyError(errors)
        return policy


POLICY_FIELDS = fields_of(StallPolicy)

from_values = StallPolicy.from_values
