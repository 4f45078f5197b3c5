"""Figures over the months: points, limits as lines, changes in the clinic as flags."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import plotly.graph_objects as go

from ..science.charts import Marked, add_marks

AROUND = timedelta(days=20)
FEWEST_FOR_A_FIGURE = 2


@dataclass(frozen=True, slots=True)
class MonthPoint:
    """One point in time with its limits, where there are any."""

    on: date
    value: float
    words: str
    is_complete: bool
    is_outside: bool = False
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """What stands around the points: the centre, the axis and the flags."""

    title: str
    top: float
    centre: float | None = None
    changes: Sequence[tuple[date, str]] = ()


def months_figure(points: Sequence[MonthPoint], frame: Frame) -> dict[str, Any]:
    """Return the chart of at least one point, oldest first."""
    figure = go.Figure()
    span = (points[0].on - AROUND, points[-1].on + AROUND)
    if frame.centre is not None:
        _add_centre(figure, frame.centre, span)
        _add_limits(figure, points)
    _add_points(figure, points)
    inside = [m for m in frame.changes if span[0] <= m[0] <= span[1]]
    add_marks(figure, [Marked(*change) for change in inside], name="Change noted")
    figure.update_layout(
        template="none",
        height=340,
        yaxis={
            "range": [-0.03 * frame.top, 1.03 * frame.top],
            "title": {"text": frame.title},
        },
        xaxis={"type": "date", "range": [day.isoformat() for day in span]},
    )
    result: dict[str, Any] = json.loads(figure.to_json())
    return result


def _add_centre(figure: go.Figure, centre: float, span: tuple[date, date]) -> None:
    figure.add_trace(
        go.Scatter(
            x=[day.isoformat() for day in span],
            y=[centre] * 2,
            mode="lines",
            name="Reference period",
            meta={"role": "baseline"},
        )
    )


def _add_limits(figure: go.Figure, points: Sequence[MonthPoint]) -> None:
    held = [point for point in points if point.low is not None]
    for ends, is_named in (
        ([point.low for point in held], True),
        ([point.high for point in held], False),
    ):
        figure.add_trace(
            go.Scatter(
                x=[point.on.isoformat() for point in held],
                y=ends,
                mode="lines",
                line={"shape": "hvh"},
                name="Limits",
                showlegend=is_named,
                meta={"role": "limit"},
            )
        )


def _add_points(figure: go.Figure, points: Sequence[MonthPoint]) -> None:
    kinds = (
        ("score", "Complete", [p for p in points if p.is_complete]),
        ("case", "Not complete", [p for p in points if not p.is_complete]),
        ("event", "Outside the limits", [p for p in points if p.is_outside]),
    )
    for role, name, chosen in kinds:
        if chosen:
            figure.add_trace(
                go.Scatter(
                    x=[point.on.isoformat() for point in chosen],
                    y=[round(point.value, 2) for point in chosen],
                    text=[point.words for point in chosen],
                    name=name,
                    meta={"role": role},
                    hovertemplate="%{text}<extra></extra>",
                )
            )
