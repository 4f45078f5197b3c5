"""The course strip: a person's own scores on the full scale, small enough for a row.

Higher scores are always drawn higher; which way is better is said in words.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from .measures import Measure

WIDTH, HEIGHT = 168, 64
VERTICAL = ("baseline_y", "error_top", "error_height", "important_y")


@dataclass(frozen=True, slots=True)
class Strip:
    """What the strip's template draws, in its own units."""

    width: int
    height: int
    points: tuple[tuple[float, float], ...]
    polyline: str
    baseline_y: float | None
    error_top: float | None
    error_height: float | None
    important_y: float | None
    low_label: str
    high_label: str
    label: str

    def sized(self, *, width: int | None = None, height: int | None = None) -> Strip:
        """Return the same strip in another size, the whole scale kept."""
        width, height = width or self.width, height or self.height
        across, down = width / self.width, height / self.height
        points = tuple(
            (round(x * across, 1), round(y * down, 1)) for x, y in self.points
        )
        places: dict[str, Any] = {
            name: None if place is None else round(place * down, 1)
            for name in VERTICAL
            for place in [getattr(self, name)]
        }
        return replace(
            self,
            width=width,
            height=height,
            points=points,
            polyline=_polyline(points),
            **places,
        )


def draw_strip(
    about: Measure,
    scores: Sequence[tuple[date, float]],
    *,
    mdc: float | None,
    mcid: float | None,
    opened_on: date,
    on: date,
) -> Strip:
    """Lay scores out over true time, with the bands around the first of them."""
    x = _scale(opened_on.toordinal(), max(on.toordinal(), opened_on.toordinal() + 1))
    points = tuple(
        (round(x(day.toordinal()), 1), round(_y(about, value), 1))
        for day, value in scores
    )
    return Strip(
        width=WIDTH,
        height=HEIGHT,
        points=points,
        polyline=_polyline(points),
        **_bands(about, scores[0][1] if scores else None, mdc=mdc, mcid=mcid),
        low_label=f"{about.low:g}",
        high_label=f"{about.high:g}",
        label=_in_words(about, scores),
    )


def _bands(
    about: Measure, first: float | None, *, mdc: float | None, mcid: float | None
) -> dict[str, float | None]:
    """Return where the error band and the important line lie; nowhere without."""
    if first is None or mdc is None or mcid is None:
        return dict.fromkeys(VERTICAL)
    top = _y(about, min(first + mdc, about.high))
    bottom = _y(about, max(first - mdc, about.low))
    target = first + mcid * (about.better.sign if about.better else 1)
    important = _y(about, target) if about.low <= target <= about.high else None
    places = (_y(about, first), top, bottom - top, important)
    return {
        name: None if place is None else round(place, 1)
        for name, place in zip(VERTICAL, places, strict=True)
    }


def _polyline(points: Sequence[tuple[float, float]]) -> str:
    return " ".join(f"{x},{y}" for x, y in points) if points[1:] else ""


def _scale(start: int, end: int) -> Callable[[int], float]:
    """Return the function from a day to its place; days before the start are at it."""
    return lambda day: WIDTH * min(max((day - start) / (end - start), 0), 1)


def _y(about: Measure, value: float) -> float:
    return HEIGHT * (about.high - value) / (about.high - about.low)


def _in_words(about: Measure, scores: Sequence[tuple[date, float]]) -> str:
    """Return the text alternative."""
    direction = about.better.sentence if about.better else ""
    if not scores:
        return f"{about.short_name}, {direction}: no score yet."
    listed = ", ".join(f"{value:.4g}" for _, value in scores)
    scale = f"{about.low:g} to {about.high:g}"
    return f"{about.short_name} on {scale}, {direction}: {listed}."
