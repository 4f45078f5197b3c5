"""The figure of a share that grows by week, with its limits."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import plotly.graph_objects as go

from ..science.group.time_to import Array, Curve


def incidence_figure(curve: Curve, *, until: float, name: str) -> dict[str, Any]:
    """Return the steps of a share in per cent up to a week, inside its limits."""
    kept = curve.weeks <= until
    weeks = np.concatenate([[0.0], curve.weeks[kept], [until]])
    figure = go.Figure()
    known = kept & np.isfinite(curve.low)
    if known.any():
        days = np.concatenate([curve.weeks[known], [until]])
        for values, fill in ((curve.low, None), (curve.high, "tonexty")):
            _add(figure, days, _held(values[known]), "error-band", fill=fill)
    steps = _held(np.concatenate([[0.0], curve.value[kept]]))
    _add(figure, weeks, steps, "score", name=name, mode="lines")
    figure.update_layout(
        template="none",
        height=340,
        showlegend=False,
        xaxis={"range": [0, until], "title": {"text": "Weeks since the first score"}},
        yaxis={"range": [0, 100], "title": {"text": f"{name}, per cent"}},
    )
    return json.loads(figure.to_json())


def _held(values: Array) -> Array:
    """Return shares in per cent, the last one once more to the end of the curve."""
    return 100 * np.append(values, values[-1])


def _add(
    figure: go.Figure, weeks: Array, values: Array, role: str, **look: Any
) -> None:
    figure.add_trace(
        go.Scatter(
            x=weeks.tolist(),
            y=values.tolist(),
            line={"shape": "hv"},
            meta={"role": role},
            hovertemplate="by week %{x}: %{y:.0f} %<extra></extra>",
            **look,
        )
    )
