"""Read model of the measures page: one card an instrument, pain ratings together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

from .models import Wording
from .science.measures import Belongs, Measure, catalogue
from .science.policy import StallPolicy
from .science.thresholds import Kind, Threshold

KIND_WORDS = {Kind.MDC: "detectable change", Kind.MCID: "important change"}
APPLIES_WORDS = {"total": "", "average": "mean", "single": "one activity"}


@dataclass(frozen=True, slots=True)
class ThresholdRow:
    """One published or assumed size of change, and its standing at this site."""

    threshold: Threshold
    kind: str
    applies_to: str
    points: str
    standing: str
    site_points: str  # empty where the site set no number of its own


@dataclass(frozen=True, slots=True)
class MeasureCard:
    """One instrument, or several that are judged alike."""

    key: str
    title: str
    about: Measure
    direction: str
    recall: str
    belongs: str
    ages: str
    thresholds: tuple[ThresholdRow, ...]
    wordings: tuple[Wording, ...]
    takes_wording: bool


def build_measure_cards(
    *, policy: StallPolicy, wordings: Iterable[Wording]
) -> list[MeasureCard]:
    """Return every measure of the catalogue; those with equal thresholds share."""
    installed = list(wordings)
    groups = groupby(catalogue().values(), key=lambda m: (m.kind, m.thresholds))
    return [_card(list(group), policy, installed) for _, group in groups]


def _card(
    alike: list[Measure], policy: StallPolicy, wordings: list[Wording]
) -> MeasureCard:
    about = alike[0]
    recalls = dict.fromkeys(_recall(one) for one in alike)
    return MeasureCard(
        key=about.key,
        title=", ".join(_titles(alike)),
        about=about,
        direction=about.better.sentence if about.better else "itself a change",
        recall="; ".join(recalls),
        belongs="the knee" if about.belongs is Belongs.KNEE else "the person",
        ages=_ages(about),
        thresholds=tuple(_row(one, about, policy) for one in about.thresholds),
        wordings=tuple(w for w in wordings if w.measure == about.key),
        takes_wording=about.kind != "pain",
    )


def _recall(about: Measure) -> str:
    """Return the period asked about, with how far it was checked."""
    mark = f" ({about.recall_mark})" if about.recall_mark else ""
    return f"{about.recall}{mark}"


def _titles(alike: list[Measure]) -> list[str]:
    """Return the names, in running text after the first one."""
    return [
        one.name if not place else one.short_name.lower()
        for place, one in enumerate(alike)
    ]


def _ages(about: Measure) -> str:
    youngest, oldest = about.ages
    if youngest is None and oldest is None:
        return "any age"
    if oldest is None:
        return f"{youngest} years and older"
    return f"up to {oldest} years" if youngest is None else f"{youngest} to {oldest}"


def _row(threshold: Threshold, about: Measure, policy: StallPolicy) -> ThresholdRow:
    own = None
    if threshold.default and threshold.applies_to == about.main_threshold:
        is_mdc = threshold.kind is Kind.MDC
        own = policy.mdc_for(about.key) if is_mdc else policy.mcid_for(about.key)
    is_replaced = own is not None and own != threshold.value
    return ThresholdRow(
        threshold=threshold,
        kind=KIND_WORDS[threshold.kind],
        applies_to=APPLIES_WORDS[threshold.applies_to],
        points=f"{threshold.value:g}",
        standing=_standing(threshold, is_replaced=is_replaced),
        site_points=f"{own:g}" if is_replaced else "",
    )


def _standing(threshold: Threshold, *, is_replaced: bool) -> str:
    if is_replaced:
        return "default; this clinic uses another"
    if threshold.default:
        return "in use"
    return "may be chosen" if threshold.is_offered else "on record, not for use here"
