"""The rules of the response advice: what each says, and where it comes from.

Clinical reference 11.1, 11.2 and 11.5. The order of asking is in `response.py`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from clinic.sourced.sources import Source

from .sources import (
    FLOW_STAND,
    IRRITABILITY,
    MORNING_RULE,
    PAIN_ZONES,
    PROGRESSION,
    PROJECT,
    WEEKLY_RULE,
)


class Kind(StrEnum):
    """What is suggested; `no_advice` is a refusal, not a fourth level."""

    EASE_OFF = "ease_off"
    HOLD = "hold"
    PROGRESS = "progress"
    NO_ADVICE = "no_advice"

    @property
    def words(self) -> str:
        """The kind as a reader sees it."""
        return self.value.replace("_", " ").capitalize()


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule: its key, what it leads to, its sentence and its source."""

    key: str
    kind: Kind
    sentence: str
    source: Source


@dataclass(frozen=True, slots=True)
class Fired:
    """The rule that fired, by key, and a reason of its own where it has one."""

    rule: str
    reason: str = ""


def _rules(kind: Kind, *rows: tuple[str, str, Source]) -> dict[str, Rule]:
    return {key: Rule(key, kind, sentence, source) for key, sentence, source in rows}


_GATES = _rules(
    Kind.NO_ADVICE,
    ("advice_off", "Advice is turned off at this site.", PROJECT),
    (
        "red_flag_undecided",
        "A red-flag answer is waiting for a decision; decide on it first.",
        PROJECT,
    ),
    ("flow_screen_missing", "{reason}", PROJECT),
    ("flow_screen_blocked", "{reason}", PROJECT),
    ("flow_screen_expired", "{reason}", PROJECT),
    ("flow_screen_undecided", "{reason}", PROJECT),
)
_UNKNOWN = _rules(
    Kind.NO_ADVICE,
    ("no_session", "No session at this dose is recorded.", PROJECT),
    ("pain_out_of_range", "{reason}", PROJECT),
    ("pain_not_recorded", "Pain during the session is not recorded.", PROJECT),
    ("morning_not_recorded", "The next morning is not recorded.", PROJECT),
)
_EASE_OFF = _rules(
    Kind.EASE_OFF,
    (
        "pain_above_limit",
        "Pain during the session was {pain}, above the limit of {limit}.",
        PAIN_ZONES,
    ),
    ("flare", "The knee flared the morning after.", MORNING_RULE),
)
_HOLD = _rules(
    Kind.HOLD,
    (
        "pain_acceptable",
        "Pain during the session was {pain}: above {easy}, not above {limit}. That is "
        "allowed if it settles, at the same dose.",
        PAIN_ZONES,
    ),
    (
        "mild_flare",
        "The knee was a little worse the morning after: same dose until it settles.",
        MORNING_RULE,
    ),
    (
        "high_irritability",
        "The knee is highly irritable (judged so, or usual pain of {irritable} or "
        "more): no step up.",
        IRRITABILITY,
    ),
    (
        "irritability_not_recorded",
        "Record how irritable the knee is before a step up.",
        PROJECT,
    ),
    (
        "too_few_calm_sessions",
        "A calm session; a step up needs {calm} calm sessions in a row.",
        PROJECT,
    ),
    (
        "sessions_too_old",
        "The calm sessions do not all lie within the last {days} days.",
        PROJECT,
    ),
    (
        "usual_pain_rising",
        "Usual pain has risen by {rise} or more over the last sessions, though "
        "the sessions themselves were calm.",
        WEEKLY_RULE,
    ),
    ("sets_not_recorded", "The sets done are not recorded.", PROJECT),
    ("sets_not_done", "Not all sets were done: complete this dose first.", PROJECT),
    (
        "repetitions_not_recorded",
        "Repetitions over the target are not recorded; a load step needs them.",
        PROGRESSION,
    ),
    (
        "target_not_beaten",
        "The target was not beaten by {over} or more in {calm} sessions in a row: "
        "same dose.",
        PROGRESSION,
    ),
    ("no_fitting_plate", "{reason}", PROGRESSION),
    (
        "flow_load_unknown",
        "Under a cuff a step needs the load and a 1RM, to stay within {flow} per cent.",
        FLOW_STAND,
    ),
    (
        "flow_load_at_limit",
        "The next load would be above {flow} per cent of 1RM, the most under a cuff.",
        FLOW_STAND,
    ),
    ("no_step_left", "Ready for more, but no harder neighbour is known.", PROJECT),
)
_PROGRESS = _rules(
    Kind.PROGRESS,
    (
        "calm_and_beaten",
        "{calm} calm sessions in a row, and the target beaten in each.",
        PROGRESSION,
    ),
    (
        "calm_and_done",
        "{calm} calm sessions in a row, with all sets done.",
        PROJECT,
    ),
)

RULES: Mapping[str, Rule] = MappingProxyType(
    _GATES | _UNKNOWN | _EASE_OFF | _HOLD | _PROGRESS
)
