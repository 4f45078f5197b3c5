"""Figures of observed and expected change; never change against the first score."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

import plotly.graph_objects as go

ROOM = 1.15  # how far an axis reaches beyond what is drawn


def clinicians_figure(rows: Sequence[tuple[str, float, float]]) -> dict[str, Any]:
    """Return differences with their reach either way, one line a name, around zero."""
    names = [name for name, _, _ in rows]
    figure = go.Figure(
        go.Scatter(
            x=[difference for _, difference, _ in rows],
            y=names,
            mode="markers",
            error_x={"type": "data", "array": [reach for _, _, reach in rows]},
            meta={"role": "score"},
            hovertemplate="%{y}: %{x:+.1f} points<extra></extra>",
        )
    )
    widest = max((abs(d) + reach for _, d, reach in rows), default=1.0) or 1.0
    figure.update_layout(
        template="none",
        height=340,
        showlegend=False,
        xaxis={
            "range": [-ROOM * widest, ROOM * widest],
            "showgrid": False,
            "title": {"text": "Observed less expected, points"},
        },
        yaxis={"type": "category", "autorange": "reversed", "title": {"text": ""}},
        shapes=[_zero()],
    )
    return json.loads(figure.to_json())


def _zero() -> dict[str, Any]:
    """Return the line of no difference; a grid line at zero would hide it."""
    ends = {"xref": "x", "x0": 0, "x1": 0, "yref": "paper", "y0": 0, "y1": 1}
    return {"name": "limit", "type": "line", **ends}


def months_figure(
    rows: Sequence[tuple[str, float | None, float | None]],
) -> dict[str, Any]:
    """Return mean changes by the first day of their month, observed and expected.

    None is a month that is not shown; the line breaks there.
    """
    figure = go.Figure()
    days = [on for on, _, _ in rows]
    lines = {"Observed": ("score", 1), "Expected": ("score-other", 2)}
    for name, (role, at) in lines.items():
        figure.add_trace(
            go.Scatter(
                x=days,
                y=[row[at] for row in rows],
                name=name,
                meta={"role": role},
                hovertemplate="%{x|%b %Y}: %{y:+.1f} points"
                "<extra>%{fullData.name}</extra>",
            )
        )
    figure.update_layout(
        template="none",
        height=340,
        xaxis={"type": "date", "title": {"text": ""}},
        yaxis={
            "range": _reach([value for _, *pair in rows for value in pair]),
            "title": {"text": "Mean change, points"},
        },
    )
    return json.loads(figure.to_json())


def _reach(values: Sequence[float | None]) -> list[float]:
    """Return the ends of an axis that holds the values and zero."""
    known = [0.0, *(value for value in values if value is not None)]
    pad = 0.1 * (max(known) - min(known)) or 1.0
    return [min(known) - pad, max(known) + pad]
