"""From the knee's answer to a suggestion: progress, hold, or ease off.

The worse of two tests decides: pain during the session, and the next morning. Gates
come first and always win. Sessions are those done at the present dose: a change of
dose starts the count anew.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from clinic.sourced.sources import Source

from .flow_screen import Blocked, Clear, Expired, NeedsDecision, ScreenStatus
from .limits import DosingPolicy
from .loading import Irritability
from .next_step import Change, Dose, step_down, step_up
from .no_estimate import NoEstimate, outside, plain
from .response_rules import RULES, Fired, Kind

CLINICIAN_DECIDES = "The clinician decides; local rules apply."
_POLICY = DosingPolicy()


class NextMorning(StrEnum):
    """The knee on the morning after, held against usual pain of the last week."""

    SETTLED = "settled"
    MILD_FLARE = "mild_flare"
    FLARE = "flare"


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """One session at the present dose; pains 0 to 10, None where not recorded."""

    done_on: date
    pain_during: float | None
    next_morning: NextMorning | None
    usual_pain: float | None = None
    sets_prescribed: int | None = None
    sets_done: int | None = None
    repetitions_over: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Gates:
    """What must be open before anything is suggested."""

    is_advice_on: bool
    is_red_flag_undecided: bool
    flow_screen: ScreenStatus | None = None


@dataclass(frozen=True, slots=True)
class Suggestion:
    """What is suggested, by which rule, and the one change; none to hold."""

    kind: Kind
    rule: str
    sentence: str
    source: Source
    change: Change | None = None
    reminder: str = CLINICIAN_DECIDES


def suggest(
    *,
    sessions: Sequence[Session],
    dose: Dose,
    irritability: Irritability | None,
    gates: Gates,
    on: date,
    policy: DosingPolicy = _POLICY,
) -> Suggestion:
    """Return the suggestion for the next session of one line."""
    done = sorted(sessions, key=lambda session: session.done_on)
    if found := closed_gate(gates, dose):
        return _say(found, done, policy)
    if not done:
        return _say(Fired("no_session"), done, policy)
    latest = session_rule(done[-1], policy)
    kind = Kind.PROGRESS if latest is None else RULES[latest.rule].kind
    if latest and kind is Kind.EASE_OFF:
        change = step_down(dose, is_repeated=_is_repeated(done, policy), policy=policy)
        return _say(latest, done, policy, change)
    reason = latest or _reason_to_hold(done, irritability, on, policy)
    if reason or irritability is None:
        return _say(reason or Fired("irritability_not_recorded"), done, policy)
    over = [each.repetitions_over for each in done[-policy.calm_sessions :]]
    step = step_up(
        dose, repetitions_over=over, irritability=irritability, policy=policy
    )
    if isinstance(step, Fired):
        return _say(step, done, policy)
    is_beaten = all(each is not None for each in over)
    rule = "calm_and_beaten" if is_beaten else "calm_and_done"
    return _say(Fired(rule), done, policy, step)


def next_morning(
    *,
    usual_pain: float | None,
    morning_pain: float | None,
    is_settled_in_a_day: bool,
    policy: DosingPolicy = _POLICY,
) -> NextMorning | NoEstimate:
    """Name the morning after from two ratings and whether it settled within 24 h."""
    refusal = _bad_pain(usual_pain, "Usual pain") or _bad_pain(
        morning_pain, "Pain in the morning"
    )
    if refusal or usual_pain is None or morning_pain is None:
        return refusal or NoEstimate("Both ratings are needed.", "usual_pain")
    rise = morning_pain - usual_pain
    if rise >= policy.morning_flare or not is_settled_in_a_day:
        return NextMorning.FLARE
    return NextMorning.MILD_FLARE if rise > 0 else NextMorning.SETTLED


def closed_gate(gates: Gates, dose: Dose) -> Fired | None:
    """Return the first gate that is closed; the flow screen only where it is used."""
    if not gates.is_advice_on:
        return Fired("advice_off")
    if gates.is_red_flag_undecided:
        return Fired("red_flag_undecided")
    status = gates.flow_screen
    if not dose.is_flow_restricted or isinstance(status, Clear):
        return None
    if status is None:
        return Fired("flow_screen_missing", "The flow-restriction screen is missing.")
    if isinstance(status, Blocked):
        return Fired("flow_screen_blocked", status.reason)
    if isinstance(status, Expired):
        return Fired("flow_screen_expired", status.reason)
    if isinstance(status, NeedsDecision):
        return Fired("flow_screen_undecided", status.reason)
    return Fired("flow_screen_missing", status.reason)


def session_rule(session: Session, policy: DosingPolicy) -> Fired | None:
    """Return the rule that one session fires, None when it was calm.

    A missing test says "cannot say", unless the other one already asks to ease off.
    """
    pain, morning = session.pain_during, session.next_morning
    for value, what in ((pain, "Pain during"), (session.usual_pain, "Usual pain")):
        if value is not None and (refusal := _bad_pain(value, what)):
            return Fired("pain_out_of_range", refusal.reason)
    if pain is not None and pain > policy.pain_limit:
        return Fired("pain_above_limit")
    if morning == NextMorning.FLARE:
        return Fired("flare")
    if pain is None:
        return Fired("pain_not_recorded")
    if morning not in (NextMorning.SETTLED, NextMorning.MILD_FLARE):
        return Fired("morning_not_recorded")
    if pain > policy.easy_pain:
        return Fired("pain_acceptable")
    return Fired("mild_flare") if morning == NextMorning.MILD_FLARE else None


def _is_repeated(done: Sequence[Session], policy: DosingPolicy) -> bool:
    """Tell whether the session before the latest one asked to ease off as well."""
    before = session_rule(done[-2], policy) if len(done) > 1 else None
    return before is not None and RULES[before.rule].kind is Kind.EASE_OFF


def _reason_to_hold(
    done: Sequence[Session],
    irritability: Irritability | None,
    on: date,
    policy: DosingPolicy,
) -> Fired | None:
    """Return why a calm session is not enough for a step up, None if it is."""
    latest = done[-policy.calm_sessions :]
    usual = done[-1].usual_pain
    if irritability == Irritability.HIGH or (usual or 0) >= policy.irritable_pain:
        return Fired("high_irritability")
    if irritability not in (Irritability.LOW, Irritability.MODERATE):
        return Fired("irritability_not_recorded")
    is_calm = all(session_rule(each, policy) is None for each in latest)
    if len(latest) < policy.calm_sessions or not is_calm:
        return Fired("too_few_calm_sessions")
    if latest[0].done_on < on - timedelta(days=policy.window_days):
        return Fired("sessions_too_old")
    if _is_rising(done, on, policy):
        return Fired("usual_pain_rising")
    return _sets_missing(latest)


def _is_rising(done: Sequence[Session], on: date, policy: DosingPolicy) -> bool:
    """Hold the latest usual pain against the mean of the window's earlier ones."""
    first_on = on - timedelta(days=policy.window_days)
    usual = done[-1].usual_pain
    earlier = [
        each.usual_pain
        for each in done[:-1]
        if each.usual_pain is not None and each.done_on >= first_on
    ]
    if usual is None or not earlier:
        return False
    return usual - sum(earlier) / len(earlier) >= policy.usual_rise


def _sets_missing(latest: Sequence[Session]) -> Fired | None:
    for each in latest:
        if each.sets_done is None or each.sets_prescribed is None:
            return Fired("sets_not_recorded")
        if each.sets_prescribed < 1 or each.sets_done < each.sets_prescribed:
            return Fired("sets_not_done")
    return None


def _say(
    found: Fired,
    done: Sequence[Session],
    policy: DosingPolicy,
    change: Change | None = None,
) -> Suggestion:
    rule = RULES[found.rule]
    pain = done[-1].pain_during if done else None
    sentence = rule.sentence.format(
        reason=found.reason,
        pain="not recorded" if pain is None else plain(pain),
        easy=plain(policy.easy_pain),
        limit=plain(policy.pain_limit),
        irritable=plain(policy.irritable_pain),
        calm=policy.calm_sessions,
        days=policy.window_days,
        rise=plain(policy.usual_rise),
        over=policy.repetitions_over,
        flow=policy.flow_load_most,
    )
    return Suggestion(rule.kind, rule.key, sentence, rule.source, change)


def _bad_pain(value: float | None, what: str) -> NoEstimate | None:
    return outside(value, low=0, high=10, what=what, unit="", field="pain")
