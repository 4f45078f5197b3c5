"""Shares with their intervals as points and whiskers; values in, a figure out."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import plotly.graph_objects as go

from ..science.group.proportions import Share
from .flow_figure import HEIGHT, down


@dataclass(frozen=True, slots=True)
class Whisker:
    """One share with its interval, in a line of words."""

    name: str
    share: Share


def whiskers(lines: Sequence[Whisker], *, title: str) -> dict[str, Any]:
    """Return each share in per cent as a point with its interval to both sides."""
    figure = go.Figure(_points(lines))
    figure.update_layout(
        template="none",
        height=HEIGHT,
        showlegend=False,
        xaxis={
            "range": [0, 102],
            "dtick": 20,
            "ticksuffix": " %",
            "title": {"text": title},
        },
        yaxis=down([line.name for line in lines]),
    )
    finished: dict[str, Any] = json.loads(figure.to_json())
    return finished


def _points(lines: Sequence[Whisker]) -> go.Scatter:
    shares = [line.share for line in lines]
    return go.Scatter(
        x=[100 * share.value for share in shares],
        y=[line.name for line in lines],
        mode="markers",
        meta={"role": "ranged"},
        error_x={
            "type": "data",
            "symmetric": False,
            "array": [100 * (share.high - share.value) for share in shares],
            "arrayminus": [100 * (share.value - share.low) for share in shares],
        },
        text=[_hover(line) for line in lines],
        hovertemplate="%{text}<extra></extra>",
    )


def _hover(line: Whisker) -> str:
    share = line.share
    ends = f"{100 * share.low:.0f} to {100 * share.high:.0f} %"
    return f"{line.name}: {100 * share.value:.0f} % ({ends}), {share.of} cases"
