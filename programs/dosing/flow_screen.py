"""Whether exercise with blood-flow restriction may be prescribed on a day.

A contraindication stops it without an override. Only a new screen, which names what
a physician answered, can mark it as cleared; that then counts as an added risk.
"""

from __future__ import annotations

import calendar
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from .flow_questions import Contraindication, Questions, questions
from .limits import DosingPolicy

_POLICY = DosingPolicy()


class Answer(StrEnum):
    """One answer; `cleared` is for a contraindication that a physician cleared."""

    NO = "no"
    YES = "yes"
    CLEARED = "cleared"


@dataclass(frozen=True, slots=True)
class Clearance:
    """What a physician answered, and which earlier screen had stopped it."""

    physician: str
    answer: str
    answered_on: date
    stopped_on: date

    def fits(self, screened_on: date) -> bool:
        """Tell whether it is whole, came after the stop and not after this screen."""
        is_said = bool(self.physician.strip() and self.answer.strip())
        return is_said and self.stopped_on <= self.answered_on <= screened_on


@dataclass(frozen=True, slots=True, kw_only=True)
class ScreenFacts:
    """One answered screen of this episode, as it was recorded."""

    answered_on: date
    edition: int
    answers: Mapping[str, str]
    is_signed: bool
    decision: str = ""
    clearance: Clearance | None = None


@dataclass(frozen=True, slots=True)
class Clear:
    """It may be prescribed, up to and including this day."""

    until_on: date
    risks: tuple[str, ...] = ()
    is_open: bool = True

    @property
    def reason(self) -> str:
        """Until when, in words."""
        return f"The screen is valid until {self.until_on.isoformat()}."


@dataclass(frozen=True, slots=True)
class NeedsDecision:
    """Added risks, or a clearance, that nobody has decided on in words."""

    reason: str
    risks: tuple[str, ...]
    is_open: bool = False


@dataclass(frozen=True, slots=True)
class Blocked:
    """A contraindication; there is no override."""

    reason: str
    keys: tuple[str, ...]
    is_open: bool = False


@dataclass(frozen=True, slots=True)
class Expired:
    """The screen was valid and is so no longer."""

    reason: str
    ended_on: date
    is_open: bool = False


@dataclass(frozen=True, slots=True)
class Missing:
    """There is no whole, signed screen."""

    reason: str
    unanswered: tuple[str, ...] = ()
    is_open: bool = False


ScreenStatus = Clear | NeedsDecision | Blocked | Expired | Missing


def screen_status(
    facts: ScreenFacts | None,
    *,
    on: date,
    last_adverse_event_on: date | None,
    policy: DosingPolicy = _POLICY,
) -> ScreenStatus:
    """Judge the newest screen of the episode; anything but Clear refuses.

    An adverse event on the day of the screen ends it too, since a date does not say
    which came first: ask again on a later day.
    """
    if facts is None:
        return Missing("The safety screen has not been answered for this episode.")
    asked = questions()
    return (
        _blocked(facts, asked)
        or _missing(facts, asked, on)
        or _expired(facts, on, last_adverse_event_on, policy)
        or _undecided(facts, asked)
        or Clear(valid_until(facts.answered_on, policy), _risks(facts, asked))
    )


def valid_until(answered_on: date, policy: DosingPolicy = _POLICY) -> date:
    """Return the last day of a screen's validity, calendar months later."""
    months = answered_on.month - 1 + policy.screen_months
    year, month = answered_on.year + months // 12, months % 12 + 1
    day = min(answered_on.day, calendar.monthrange(year, month)[1])
    return date(year, month, day)


def _blocked(facts: ScreenFacts, asked: Questions) -> Blocked | None:
    stopping = [each for each in asked.contraindications if _stops(each, facts)]
    if not stopping:
        return None
    named = " ".join(f"{each.ask}: {each.reason}" for each in stopping)
    reason = f"Ruled out. {named} A physician's clearance is recorded as a new screen."
    return Blocked(reason, tuple(each.key for each in stopping))


def _stops(item: Contraindication, facts: ScreenFacts) -> bool:
    answer = facts.answers.get(item.key)
    if answer == Answer.CLEARED:
        clearance = facts.clearance
        return clearance is None or not clearance.fits(facts.answered_on)
    return answer == Answer.YES


def _missing(facts: ScreenFacts, asked: Questions, on: date) -> Missing | None:
    if facts.answered_on > on:
        return Missing("The safety screen is dated after this day.")
    if facts.edition != asked.edition:
        return Missing("The questions have changed since: answer the screen again.")
    open_keys = tuple(key for key in asked.keys if not _is_answered(key, facts, asked))
    if open_keys:
        return Missing("Some questions of the safety screen are open.", open_keys)
    if not facts.is_signed:
        return Missing("No clinician has signed the safety screen.")
    return None


def _is_answered(key: str, facts: ScreenFacts, asked: Questions) -> bool:
    allowed = {Answer.NO, Answer.YES}
    if any(key == each.key for each in asked.contraindications):
        allowed.add(Answer.CLEARED)
    return facts.answers.get(key) in allowed


def _expired(
    facts: ScreenFacts, on: date, event_on: date | None, policy: DosingPolicy
) -> Expired | None:
    if event_on is not None and event_on >= facts.answered_on:
        return Expired(
            "An adverse event was recorded after the safety screen: ask again.",
            event_on,
        )
    last_on = valid_until(facts.answered_on, policy)
    if on > last_on:
        return Expired(
            f"The safety screen is older than {policy.screen_months} months: "
            "ask again.",
            last_on,
        )
    return None


def _risks(facts: ScreenFacts, asked: Questions) -> tuple[str, ...]:
    """Return the keys that raise the risk, cleared contraindications first."""
    given = facts.answers
    cleared = [c.key for c in asked.contraindications if given[c.key] == Answer.CLEARED]
    added = [risk.key for risk in asked.risks if given[risk.key] == Answer.YES]
    return (*cleared, *added)


def _undecided(facts: ScreenFacts, asked: Questions) -> NeedsDecision | None:
    risks = _risks(facts, asked)
    if not risks or facts.decision.strip():
        return None
    named = "; ".join(asked.asked[key] for key in risks)
    return NeedsDecision(f"Added risk, to be decided in words: {named}.", risks)
