"""The funnel: shares against the number of cases, with the limits of chance."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import plotly.graph_objects as go

from ..science.group.funnel import INNER, OUTER, Count, Lies, lies, limits
from ..science.group.small_numbers import FLOOR

# Whose point, whether it lies beyond 95 %, how it is drawn and what it is called.
KINDS = (
    (False, False, "case", "A clinician"),
    (False, True, "event", "A clinician, beyond 95 %"),
    (True, False, "own", "You"),
    (True, True, "own-beyond", "You, beyond 95 %"),
)
# Where a name may stand, in its own widths and in shares of the height; a letter and a
# line of letters in shares of the width and the height of a narrow figure.
PLACES = {
    "top center": (0.0, 0.08),
    "bottom center": (0.0, -0.08),
    "middle left": (-0.5, 0.0),
    "middle right": (0.5, 0.0),
}
PAPER_HEIGHT = 340  # taller than others on paper: names stand between its points
LETTER, LINE = 0.013, 0.08
ALL = "All of them"
DIRECTION = "Higher is better: more cases reached an important gain."


@dataclass(frozen=True, slots=True)
class Point:
    """One clinician on the figure; a name is written beside the point."""

    name: str
    count: Count
    is_own: bool = False


def funnel_figure(points: Sequence[Point], target: float) -> dict[str, Any]:
    """Return the funnel around a target; the points are drawn as they come."""
    figure = go.Figure()
    last = max(point.count.of for point in points)
    last = max(FLOOR + 10, round(1.3 * last))
    _add_limits(figure, target, last)
    beside = _beside(points, target, last)
    for is_own, is_beyond, role, name in KINDS:
        chosen = [
            point
            for point in points
            if point.is_own is is_own
            and (lies(point.count, target) is not Lies.INSIDE) is is_beyond
        ]
        _add_points(figure, chosen, beside, role=role, name=name)
    figure.update_layout(
        template="none",
        height=340,
        meta={"paper": PAPER_HEIGHT},
        xaxis={"range": [FLOOR - 1, last], "title": {"text": "Cases counted"}},
        yaxis={"range": [-3, 103], "title": {"text": "Reached, per cent"}},
    )
    result: dict[str, Any] = json.loads(figure.to_json())
    return result


def _add_limits(figure: go.Figure, target: float, last: int) -> None:
    _add_line(figure, [FLOOR, last], [100 * target] * 2, role="baseline", name=ALL)
    sizes = list(range(FLOOR, last + 1))
    for coverage, role, name in (
        (INNER, "limit-inner", "95 % limits"),
        (OUTER, "limit", "99.8 % limits"),
    ):
        found = limits(target, sizes, coverage=coverage)
        for end, is_named in ((found.low, True), (found.high, False)):
            per_cent = np.round(100 * end, 2).tolist()
            _add_line(figure, sizes, per_cent, role=role, name=name, is_named=is_named)


def _add_line(
    figure: go.Figure,
    x: Sequence[int],
    y: Sequence[float],
    *,
    role: str,
    name: str,
    is_named: bool = True,
) -> None:
    line = go.Scatter(x=x, y=y, mode="lines", name=name, showlegend=is_named)
    figure.add_trace(line.update(meta={"role": role}))


def _add_points(
    figure: go.Figure,
    points: Sequence[Point],
    beside: Mapping[Point, str],
    *,
    role: str,
    name: str,
) -> None:
    if not points:
        return
    figure.add_trace(
        go.Scatter(
            x=[point.count.of for point in points],
            y=[round(100 * point.count.share, 2) for point in points],
            text=[point.name for point in points],
            customdata=[f"{p.count.reached} of {p.count.of}" for p in points],
            mode="markers+text" if any(p.name for p in points) else "markers",
            textposition=[beside[point] for point in points],
            cliponaxis=False,
            name=name,
            meta={"role": role},
            hovertemplate="%{text} %{customdata}<extra></extra>",
        )
    )


def _beside(points: Sequence[Point], target: float, last: int) -> dict[Point, str]:
    """Return where each name stands, so that names of near points do not meet.

    Below the target a name stands below if it can. Boxes are in shares of the figure's
    sides; where no place is free it is the first.
    """
    taken: list[tuple[float, float, float]] = []
    places = {}
    for point in sorted(points, key=lambda one: (one.count.of, one.count.share)):
        x = (point.count.of - FLOOR) / (last - FLOOR)
        width = LETTER * len(point.name)
        boxes = {
            name: (x + dx * (width + 0.02), point.count.share + dy, width)
            for name, (dx, dy) in PLACES.items()
        }
        first = "top center" if point.count.share >= target else "bottom center"
        order = sorted(boxes, key=lambda name: name != first)
        free = [name for name in order if not _meets(boxes[name], taken)]
        places[point] = (free or order)[0]
        taken.append(boxes[places[point]])
    return places


def _meets(
    box: tuple[float, float, float], taken: Sequence[tuple[float, float, float]]
) -> bool:
    x, y, width = box
    return (
        x + width / 2 > 1
        or x - width / 2 < 0
        or any(
            abs(x - other_x) < (width + other_width) / 2 and abs(y - other_y) < LINE
            for other_x, other_y, other_width in taken
        )
    )
