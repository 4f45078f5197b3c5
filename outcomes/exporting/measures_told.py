"""What the dictionary says of each measure: its range, its limits, its edition."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ..science.measures import QUESTIONNAIRES, Kind, Measure, catalogue


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureTold:
    """One measure: what a stranger to the clinic needs to read its scores."""

    key: str
    name: str
    span: str
    edition: int
    matters: str
    error: str

    @property
    def cells(self) -> tuple[str, ...]:
        """The facts in the order of the page."""
        return (self.name, self.span, str(self.edition), self.matters, self.error)


def measures_told(policy: Mapping[str, object]) -> tuple[MeasureTold, ...]:
    """Return every questionnaire with the limits that the clinic's policy left."""
    return tuple(_told(catalogue()[key], policy) for key in QUESTIONNAIRES)


def _told(one: Measure, policy: Mapping[str, object]) -> MeasureTold:
    way = one.better.sentence if one.better else "above 0 is better: it is a change"
    return MeasureTold(
        key=one.key,
        name=f"{one.name} ({one.short_name})",
        span=f"{one.low:g} to {one.high:g}, {way}",
        edition=one.edition,
        matters=_limit(one, Kind.MCID, policy),
        error=_limit(one, Kind.MDC, policy),
    )


def _limit(one: Measure, kind: Kind, policy: Mapping[str, object]) -> str:
    """Return a limit in points with where it is from; a change itself has none."""
    if one.better is None:
        return "none: it takes no verdict"
    if own := policy.get(f"{kind.value.lower()}_{one.key}"):
        return f"{own:g} points, set by the clinic"
    found = one.threshold(kind)
    return f"{found.value:g} points ({found.source.brief})" if found else "none"
