"""Figures of one case's course; values in, a plotly figure out, nothing computed.

Each panel has its own axis in the instrument's own direction and true time along the
other; its caption says in words which way is better. Traces name roles; the page's
script gives roles their ink, so that light, dark and print agree.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import plotly.graph_objects as go

from .measures import PAIN_KINDS, Measure

LANE_FROM = 0.88  # share of the height below the lane of flags
ALWAYS_DRAWN = {"worst", "usual"}


@dataclass(frozen=True, slots=True)
class Bands:
    """The band of measurement error around a baseline, and the important change."""

    baseline: float
    mdc: float
    mcid: float


@dataclass(frozen=True, slots=True)
class Marked:
    """A day worth marking on the time axis, with a few words."""

    on: date
    words: str


@dataclass(frozen=True, slots=True)
class Line:
    """The results of one side, or of the person as a whole."""

    name: str
    is_index: bool
    points: Sequence[tuple[date, float]]


def measure_figure(
    about: Measure,
    scores: Sequence[tuple[date, float]],
    *,
    bands: Bands | None,
    marks: Sequence[Marked],
    span: tuple[date, date],
) -> dict[str, Any]:
    """Return the course of one measure with its bands."""
    figure = go.Figure()
    if bands:
        _add_bands(figure, about, bands, span)
    figure.add_trace(
        go.Scatter(
            x=[day.isoformat() for day, _ in scores],
            y=[value for _, value in scores],
            name=about.short_name,
            meta={"role": "score"},
            hovertemplate="%{x|%-d %b %Y}: %{y:.1f}<extra></extra>",
        )
    )
    add_marks(figure, marks, name="Decision or other care")
    return _finish(figure, about.low, about.high, span, title=about.short_name)


def pain_figure(
    about: Measure,
    ratings: Mapping[str, Sequence[tuple[date, float]]],
    *,
    bands: Bands | None,
    span: tuple[date, date],
) -> dict[str, Any]:
    """Return the pain panel: one line per kind, bands around the first worst pain.

    Worst and usual pain are drawn; a rating of one activity only when asked for.
    """
    figure = go.Figure()
    if bands:
        _add_bands(figure, about, bands, span)
    for kind in PAIN_KINDS:
        if rows := ratings.get(kind):
            figure.add_trace(
                go.Scatter(
                    x=[day.isoformat() for day, _ in rows],
                    y=[value for _, value in rows],
                    name=kind.capitalize(),
                    visible=kind in ALWAYS_DRAWN,
                    meta={"role": f"pain-{kind}"},
                    hovertemplate="%{x|%-d %b %Y}: %{y}<extra>%{fullData.name}</extra>",
                )
            )
    return _finish(figure, about.low, about.high, span, title="Pain")


def sides_figure(
    lines: Sequence[Line],
    *,
    unit: str,
    top: float | None,
    span: tuple[date, date],
) -> dict[str, Any]:
    """Return a physical test from 0 up: the index side drawn full, the other dotted.

    Without `top` the axis ends a little above the highest result, since the range of
    a test only guards against typing errors.
    """
    figure = go.Figure()
    for line in lines:
        figure.add_trace(
            go.Scatter(
                x=[day.isoformat() for day, _ in line.points],
                y=[value for _, value in line.points],
                name=line.name,
                meta={"role": "score" if line.is_index else "score-other"},
                hovertemplate="%{x|%-d %b %Y}: %{y:.1f}<extra>%{fullData.name}</extra>",
            )
        )
    highest = max((value for line in lines for _, value in line.points), default=0.0)
    return _finish(figure, 0.0, top or 1.1 * highest or 1.0, span, title=unit)


def _add_bands(
    figure: go.Figure, about: Measure, bands: Bands, span: tuple[date, date]
) -> None:
    days = [day.isoformat() for day in span]
    top = min(bands.baseline + bands.mdc, about.high)
    bottom = max(bands.baseline - bands.mdc, about.low)
    edge = {"meta": {"role": "error-band"}, "mode": "lines", "x": days}
    figure.add_trace(go.Scatter(**edge, y=[bottom] * 2, showlegend=False))
    figure.add_trace(go.Scatter(**edge, y=[top] * 2, fill="tonexty", showlegend=False))
    sign = about.better.sign if about.better else 1
    target = bands.baseline + sign * bands.mcid
    lines = [("baseline", bands.baseline)]
    if about.low <= target <= about.high:
        lines.append(("important", target))
    for role, value in lines:
        figure.add_trace(
            go.Scatter(
                x=days,
                y=[value] * 2,
                mode="lines",
                showlegend=False,
                meta={"role": role},
            )
        )


def add_marks(figure: go.Figure, marks: Sequence[Marked], *, name: str) -> None:
    """Put a flag per day into a lane above the scores, its pole down to the axis.

    A lane of its own: a mark among the scores would be read as one.
    """
    if not marks:
        return
    figure.add_trace(
        go.Scatter(
            x=[mark.on.isoformat() for mark in marks],
            y=[0.5] * len(marks),
            yaxis="y2",
            text=[mark.words for mark in marks],
            name=name,
            mode="markers",
            cliponaxis=False,
            meta={"role": "flag"},
            hovertemplate="%{x|%-d %b %Y}: %{text}<extra></extra>",
        )
    )
    _add_lane(figure, sorted({mark.on.isoformat() for mark in marks}))


def _add_lane(figure: go.Figure, days: Sequence[str]) -> None:
    """Make room above the scores, with a pole per day down to the axis."""
    figure.update_layout(
        yaxis={"domain": [0, LANE_FROM]},
        yaxis2={
            "domain": [LANE_FROM, 1],
            "range": [0, 1],
            "visible": False,
            "fixedrange": True,
        },
        shapes=[
            {
                "name": "pole",
                "type": "line",
                "xref": "x",
                "yref": "paper",
                "x0": on,
                "x1": on,
                "y0": 0,
                "y1": 1 - (1 - LANE_FROM) / 4,
            }
            for on in days
        ],
    )


def _finish(
    figure: go.Figure,
    low: float,
    high: float,
    span: tuple[date, date],
    *,
    title: str,
) -> dict[str, Any]:
    pad = (high - low) * 0.03
    figure.update_layout(
        template="none",
        height=340,
        yaxis={"range": [low - pad, high + pad], "title": {"text": title}},
        xaxis={"type": "date", "range": [day.isoformat() for day in span]},
    )
    return json.loads(figure.to_json())
