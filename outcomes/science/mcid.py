"""Judges a change twice: beyond measurement error, and large enough to matter.

Each number's own source travels with its Threshold. `comparison.py` says whether
two scores may be compared and over what; the words are in `verdicts.py`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType
from typing import Any

from .comparison import Pair, Point, compare, reason_against
from .measurement_error import TOLERANCE, reaches
from .measures import Measure
from .measures import measure as measure_for
from .scoring import Unscorable, score
from .thresholds import Kind, Threshold, chosen
from .verdicts import (
    Verdict,
    day,
    judged,
    judged_by_halves,
    moved,
    number,
    signed,
)

NO_WORDS: Mapping[str, str] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Change:
    """The verdict on one change. Gain in scale points, positive means better.

    `percent` is the gain as a share of the first rating, for pain only. A change
    that cannot be judged has no gain and says why in `sentence`; else `mdc` and
    `mcid` are what it was held to.
    """

    measure: str
    gain: float | None
    percent: float | None
    is_detectable: bool | None
    is_important: bool | None
    verdict: Verdict
    label: str
    sentence: str
    mdc: Threshold | None
    mcid: Threshold | None
    notes: tuple[str, ...] = ()

    @property
    def moved(self) -> float | None:
        """The change on the scale itself: a fall is negative, whatever is better."""
        better = measure_for(self.measure).better
        if self.gain is None or better is None:
            return None
        return self.gain * better.sign


@dataclass(frozen=True, slots=True)
class Reading:
    """What one global rating of change says."""

    value: int
    is_meaningful: bool
    label: str
    sentence: str


def classify_change(
    measure: str,
    baseline: Point | None,
    current: Point | None,
    *,
    opened_on: date,
    mdc: float | None = None,
    mcid: float | None = None,
    baseline_within_days: int = 14,
    words: Mapping[str, str] = NO_WORDS,
) -> Change:
    """Judge a change from the first score; `mdc` and `mcid` are a site's own values.

    A site's values replace those of the score (for PSFS, of the average). `words`
    are the patient's for each activity, by number. Raises ValueError if the current
    score is older than the baseline.
    """
    about = measure_for(measure)
    if baseline is None or current is None:
        missing = "first" if baseline is None else "later"
        return _cannot_say(about, f"There is no {missing} score to compare.")
    reason = reason_against(about, baseline, current)
    if reason:
        return _cannot_say(about, reason)
    pair = compare(about, baseline, current, mdc=mdc, mcid=mcid, words=words)
    late = _late(baseline, opened_on, baseline_within_days)
    return _judge(pair, baseline=baseline, current=current, notes=late)


def reached(gain: Any, *, mdc: Any, mcid: Any) -> tuple[Any, Any]:
    """Tell of gains in points whether each matters, and whether it is beyond error.

    Floats or arrays alike, so that one case and a whole caseload are judged here.
    """
    return reaches(gain, mcid), reaches(gain, mdc)


def reading_of_groc(value: int, *, at_least: float | None = None) -> Reading:
    """Read one global rating of change, -7 to +7; it has no baseline."""
    groc = measure_for("groc")
    limit = chosen(groc.thresholds, Kind.MCID, at_least, applies_to="total")
    if isinstance(score(groc, {"overall": value}), Unscorable):
        raise ValueError("A rating is needed.")
    words = next(o.label for o in groc.items[0].options if o.code == value)
    is_meaningful = reaches(value, limit.value)
    sentence = f"Rated {signed(value)} since the first visit: {words}."
    if value > 0:
        reach = "reaches" if is_meaningful else "does not reach"
        sentence = (
            f"{sentence[:-1]}, which {reach} the level of a meaningful improvement "
            f"(+{number(limit.value)}, {limit.source.brief})."
        )
    return Reading(
        value, is_meaningful, _groc_label(value, is_meaningful=is_meaningful), sentence
    )


def _groc_label(value: int, *, is_meaningful: bool) -> str:
    if value == 0:
        return "same"
    if value < 0:
        return "worse by own rating"
    return "better, meaningful" if is_meaningful else "better, below meaningful"


def _judge(
    pair: Pair, *, baseline: Point, current: Point, notes: tuple[str, ...]
) -> Change:
    """Put the two answers, and the share of a pain rating, into one verdict."""
    in_points, is_detectable = reached(
        abs(pair.gain), mdc=pair.mdc.value, mcid=pair.mcid.value
    )
    verdict = _verdict(pair, is_detectable=is_detectable, in_points=in_points)
    since = day(baseline.on, beside=current.on)
    return Change(
        measure=pair.measure.key,
        gain=pair.gain,
        percent=_percent(pair),
        is_detectable=is_detectable,
        is_important=in_points and verdict is not Verdict.POINTS_ONLY,
        verdict=verdict,
        label=verdict.label,
        sentence=_sentence(pair, verdict, since=since, is_detectable=is_detectable),
        mdc=pair.mdc,
        mcid=pair.mcid,
        notes=(*pair.notes, *_room(pair), *notes),
    )


def _verdict(pair: Pair, *, is_detectable: bool, in_points: bool) -> Verdict:
    """The four cells, mirrored for a loss; halves only where per cent is asked.

    A loss is judged by points alone: from 0 a percentage is undefined, and from a
    high rating little room is left to worsen in per cent (project assumption).
    """
    if pair.gain < -TOLERANCE:
        return _LOSSES[in_points, is_detectable]
    if pair.mcid.percent is not None:
        in_percent = _is_enough_in_percent(pair, pair.mcid.percent)
        if in_points != in_percent:
            return Verdict.POINTS_ONLY if in_points else Verdict.PERCENT_ONLY
    return _GAINS[in_points, is_detectable]


_GAINS = {
    (True, True): Verdict.IMPROVED,
    (True, False): Verdict.POSSIBLE,
    (False, True): Verdict.REAL_NOT_IMPORTANT,
    (False, False): Verdict.NONE,
}
_LOSSES = {
    (True, True): Verdict.WORSE,
    (True, False): Verdict.POSSIBLE_LOSS,
    (False, True): Verdict.REAL_LOSS_NOT_IMPORTANT,
    (False, False): Verdict.NONE,
}


def _is_enough_in_percent(pair: Pair, percent: float) -> bool:
    """Whether the gain is that share of the first rating; never from 0."""
    return pair.before > 0 and reaches(pair.gain * 100, percent * pair.before)


def _percent(pair: Pair) -> float | None:
    """Gain as a percentage of the first rating; None from 0, where it is undefined."""
    if pair.measure.percent_steady_from is None or pair.before <= 0:
        return None
    return pair.gain / pair.before * 100


def _sentence(pair: Pair, verdict: Verdict, *, since: str, is_detectable: bool) -> str:
    if abs(pair.gain) <= TOLERANCE:
        return f"No change since {since} ({number(pair.before)} both times)."
    start = moved(
        pair.gain,
        better=pair.better,
        percent=_percent(pair),
        since=since,
        beside=(pair.mdc.value, pair.mcid.value),
    )
    if verdict in (Verdict.POINTS_ONLY, Verdict.PERCENT_ONLY):
        rest = judged_by_halves(
            verdict, mdc=pair.mdc, mcid=pair.mcid, is_detectable=is_detectable
        )
    else:
        is_loss = pair.gain < 0
        rest = judged(verdict, mdc=pair.mdc, mcid=pair.mcid, is_loss=is_loss)
    return f"{start}: {rest}."


def _room(pair: Pair) -> tuple[str, ...]:
    """Say where the first score leaves no room, or makes a percentage unsteady."""
    unsteady = _unsteady_percent(pair)
    for what, threshold in (("matters", pair.mcid), ("is beyond error", pair.mdc)):
        if not pair.measure.has_room(pair.before, threshold.value):
            return (_no_room(pair, what, threshold), *unsteady)
    return unsteady


def _no_room(pair: Pair, what: str, threshold: Threshold) -> str:
    return (
        f"From a first score of {number(pair.before)} an improvement that {what} "
        f"({number(threshold.value)}) cannot occur: the scale ends at "
        f"{number(pair.measure.best_possible)}."
    )


def _unsteady_percent(pair: Pair) -> tuple[str, ...]:
    limit = pair.measure.percent_steady_from
    if limit is None or pair.before >= limit:
        return ()
    if pair.before <= 0:
        return ("From a first rating of 0 a percentage means nothing: points only.",)
    return (
        f"From a first rating below {number(limit)} a percentage is unsteady: look "
        "at function as well.",
    )


def _late(baseline: Point, opened_on: date, within_days: int) -> tuple[str, ...]:
    days = (baseline.on - opened_on).days
    if days <= within_days:
        return ()
    return (
        f"The first score was taken {days} days after the episode opened (limit "
        f"{within_days}): change before it is not counted.",
    )


def _cannot_say(measure: Measure, reason: str) -> Change:
    return Change(
        measure=measure.key,
        gain=None,
        percent=None,
        is_detectable=None,
        is_important=None,
        verdict=Verdict.CANNOT_SAY,
        label=Verdict.CANNOT_SAY.label,
        sentence=reason,
        mdc=measure.threshold(Kind.MDC),
        mcid=measure.threshold(Kind.MCID),
    )
