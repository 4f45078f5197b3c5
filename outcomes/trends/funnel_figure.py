"""The funnel: shares against the number of cases, with the limits of chance."""

from __future__ import annotations

import json
from collections.abc import Sequence
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
    last = max(FLOOR + 5, round(1.1 * last) + 1)
    _add_limits(figure, target, last)
    for is_own, is_beyond, role, name in KINDS:
        chosen = [
            point
            for point in points
            if point.is_own is is_own
            and (lies(point.count, target) is not Lies.INSIDE) is is_beyond
        ]
        _add_points(figure, chosen, role=role, name=name)
    figure.update_layout(
        template="none",
        height=340,
        xaxis={"range": [FLOOR - 1, last], "title": {"text": "Cases counted"}},
        yaxis={"range": [-3, 103], "title": {"text": "Reached, per cent"}},
    )
    result: dict[str, Any] = json.loads(figure.to_json())
    return result


def _add_limits(figure: go.Figure, target: float, last: int) -> None:
    sizes = np.arange(FLOOR, last + 1)
    figure.add_trace(
        go.Scatter(
            x=[FLOOR, last],
            y=[100 * target] * 2,
            mode="lines",
            name="All of them",
            meta={"role": "baseline"},
        )
    )
    for coverage, role, name in (
        (INNER, "limit-inner", "95 % limits"),
        (OUTER, "limit", "99.8 % limits"),
    ):
        found = limits(target, sizes.tolist(), coverage=coverage)
        for end, is_named in ((found.low, True), (found.high, False)):
            figure.add_trace(
                go.Scatter(
                    x=sizes.tolist(),
                    y=np.round(100 * end, 2).tolist(),
                    mode="lines",
                    name=name,
                    showlegend=is_named,
                    meta={"role": role},
                )
            )


def _add_points(
    figure: go.Figure, points: Sequence[Point], *, role: str, name: str
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
            textposition="top center",
            cliponaxis=False,
            name=name,
            meta={"role": role},
            hovertemplate="%{text} %{customdata}<extra></extra>",
        )
    )
