"""Refuses an instrument whose own numbers contradict each other."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import TYPE_CHECKING

from .thresholds import Kind

if TYPE_CHECKING:
    from .measures import Item, Measure

Problem = tuple[str, str]


def check_measure(measure: Measure) -> Iterator[Problem]:
    """Every contradiction as (key, problem)."""
    if not measure.low < measure.high:
        yield "low", "must be below high"
    if measure.edition < 1:
        yield "edition", "must be 1 or more"
    if measure.goal is not None and not measure.low <= measure.goal <= measure.high:
        yield "goal", "must lie in the range"
    if not 1 <= measure.missing.at_least <= len(measure.items):
        yield "missing.at_least", "must be between 1 and the number of items"
    yield from _check_items(measure)
    yield from _check_range(measure)
    yield from _check_thresholds(measure)


def _check_items(measure: Measure) -> Iterator[Problem]:
    if len({item.key for item in measure.items}) != len(measure.items):
        yield "items", "two items share a key"
    for item in measure.items:
        yield from _check_options(item)


def _check_options(item: Item) -> Iterator[Problem]:
    where = f"items.{item.key}"
    codes = [option.code for option in item.options]
    if len(codes) < 2 or len(set(codes)) != len(codes):
        yield where, "needs two or more options with different codes"


def _check_range(measure: Measure) -> Iterator[Problem]:
    """The key must reach exactly the stated range."""
    least = [min(option.points for option in item.options) for item in measure.items]
    most = [item.most_points for item in measure.items]
    if measure.method == "sum" and (sum(least), sum(most)) != (
        measure.low,
        measure.high,
    ):
        yield "items", f"reach {sum(least)} to {sum(most)}, not the stated range"
    if measure.method in ("mean", "single") and (
        set(least) != {measure.low} or set(most) != {measure.high}
    ):
        yield "options", "must reach the stated range, and no further"
    if measure.method == "scaled_mean" and (set(least) != {0} or len(set(most)) != 1):
        yield "options", "must run from 0 to one common maximum"
    if measure.method == "single" and len(measure.items) != 1:
        yield "items", "must be one"


def _check_thresholds(measure: Measure) -> Iterator[Problem]:
    kinds = list(Kind) if measure.better else [Kind.MCID]
    parts = {threshold.applies_to for threshold in measure.thresholds}
    defaults = Counter(
        (threshold.kind, threshold.applies_to)
        for threshold in measure.thresholds
        if threshold.default
    )
    if not parts:
        yield "thresholds", "are missing"
    for part in sorted(parts):
        for kind in kinds:
            if defaults[kind, part] != 1:
                yield "thresholds", f"need exactly one default {kind} for {part}"
    if any(threshold.value <= 0 for threshold in measure.thresholds):
        yield "thresholds", "must be above 0"
