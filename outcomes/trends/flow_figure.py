"""Counts of cases as bars, one line of words each; values in, a figure out."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import plotly.graph_objects as go

ROOM = 1.12  # right of the longest bar, for its number
HEIGHT = 340
HEIGHT_OF_LINE = 34


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar: what it counts, how many, and which role draws it."""

    name: str
    count: int
    role: str = "bar"


def bars(lines: Sequence[Bar], *, title: str) -> dict[str, Any]:
    """Return the bars from the top down, each with its number at its end."""
    roles = dict.fromkeys(line.role for line in lines)
    figure = go.Figure([_of_role(role, lines) for role in roles])
    most = max((line.count for line in lines), default=0) or 1
    figure.update_layout(
        template="none",
        height=HEIGHT,
        showlegend=False,
        bargap=0.35,
        xaxis={"range": [0, most * ROOM], "title": {"text": title}},
        yaxis=down([line.name for line in lines]),
    )
    finished: dict[str, Any] = json.loads(figure.to_json())
    return finished


def _of_role(role: str, lines: Sequence[Bar]) -> go.Bar:
    here = [line for line in lines if line.role == role]
    return go.Bar(
        x=[line.count for line in here],
        y=[line.name for line in here],
        orientation="h",
        text=[str(line.count) for line in here],
        textposition="outside",
        cliponaxis=False,
        meta={"role": role},
        hovertemplate="%{y}: %{x}<extra></extra>",
    )


def down(names: Sequence[str]) -> Mapping[str, Any]:
    """Return an axis of words, the first at the top."""
    return {
        "type": "category",
        "categoryorder": "array",
        "categoryarray": list(names),
        "range": [len(names) - 0.5, -0.5],
        "ticks": "",
        "title": {"text": ""},
    }
