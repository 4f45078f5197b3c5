"""The figure of a programme on the time axis of a case: lanes of bars and marks.

Values in, a plotly figure out. Traces name roles; the page's script gives them ink.
Time is true: the axis is the one of the measures above it.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import plotly.graph_objects as go

DAY_MS = 24 * 3600 * 1000
BAR_HEIGHT = 0.36
FEWEST_LANES = 2  # room is kept for these, so that one bar is not a block
WORDS_ABOVE = 0.42
LETTERS_ACROSS = 86  # about as many as a tablet shows along the axis, by eye
LONGEST_WORDS = 50
PAPER_LANE, PAPER_AROUND = 40, 120  # height on a printed sheet, pixels
# As wide as the numbers and the name of the scale above, so that both axes begin at
# the same place.
NO_NUMBER, NO_NAME = "\u2007" * 3, "\u00a0"


@dataclass(frozen=True, slots=True)
class Bar:
    """Something that lasted; `until_on` is its last day."""

    from_on: date
    until_on: date
    words: str


@dataclass(frozen=True, slots=True)
class Mark:
    """Something that happened on one day."""

    on: date
    words: str


@dataclass(frozen=True, slots=True)
class Lane:
    """One height of the figure, drawn under its words.

    `kind` names what its bars and marks are, for the legend; `role` their ink.
    """

    kind: str
    role: str
    words: str
    bars: tuple[Bar, ...] = ()
    marks: tuple[Mark, ...] = ()
    mark_kind: str = ""
    symbol: str = "diamond"

    @property
    def last_on(self) -> date:
        """The last day of the lane."""
        return max(
            [bar.until_on for bar in self.bars] + [mark.on for mark in self.marks]
        )

    @property
    def first_on(self) -> date:
        """The first day of the lane."""
        return min(
            [bar.from_on for bar in self.bars] + [mark.on for mark in self.marks]
        )


def programme_figure(
    lanes: Sequence[Lane], *, span: tuple[date, date]
) -> dict[str, Any]:
    """Return the lanes from top to bottom; what lies before the span is cut."""
    figure, named = go.Figure(), set[str]()
    shown = [lane for lane in lanes if lane.last_on >= span[0]]
    for at, lane in enumerate(shown):
        _add_bars(figure, lane, -at, span, named)
        _add_marks(figure, lane, -at, named)
        figure.add_annotation(**_words(lane, -at, span))
    figure.update_layout(
        template="none",
        barmode="overlay",
        meta={"paper": PAPER_AROUND + PAPER_LANE * max(len(shown), FEWEST_LANES)},
        yaxis={
            "range": [0.75 - max(len(shown), FEWEST_LANES), 0.75],
            "tickvals": [-at for at in range(len(shown))],
            "ticktext": [NO_NUMBER] * len(shown),
            "showgrid": False,
            "title": {"text": NO_NAME},
        },
        xaxis={
            "type": "date",
            "range": [day.isoformat() for day in span],
            "tickformat": "%-d %b\n%Y",
        },
    )
    return json.loads(figure.to_json())


def _add_bars(
    figure: go.Figure,
    lane: Lane,
    height: int,
    span: tuple[date, date],
    named: set[str],
) -> None:
    if not lane.bars:
        return
    firsts = [max(bar.from_on, span[0]) for bar in lane.bars]
    figure.add_trace(
        go.Bar(
            orientation="h",
            base=[first.isoformat() for first in firsts],
            x=[
                max((bar.until_on - first).days, 1) * DAY_MS
                for bar, first in zip(lane.bars, firsts, strict=True)
            ],
            y=[height] * len(lane.bars),
            width=BAR_HEIGHT,
            customdata=[bar.words for bar in lane.bars],
            name=lane.kind,
            showlegend=_is_new(lane.kind, named),
            legendgroup=lane.kind,
            meta={"role": lane.role},
            hovertemplate="%{customdata}<extra></extra>",
        )
    )


def _add_marks(figure: go.Figure, lane: Lane, height: int, named: set[str]) -> None:
    if not lane.marks:
        return
    name = lane.mark_kind or lane.kind
    figure.add_trace(
        go.Scatter(
            x=[mark.on.isoformat() for mark in lane.marks],
            y=[height] * len(lane.marks),
            text=[mark.words for mark in lane.marks],
            mode="markers",
            marker={"symbol": lane.symbol},
            cliponaxis=False,
            name=name,
            showlegend=_is_new(name, named),
            legendgroup=name,
            meta={"role": "event"},
            hovertemplate="%{x|%-d %b %Y}: %{text}<extra></extra>",
        )
    )


def _is_new(name: str, named: set[str]) -> bool:
    is_new = name not in named
    named.add(name)
    return is_new


def _words(lane: Lane, height: int, span: tuple[date, date]) -> dict[str, Any]:
    """Put the words of a lane over its first day, or let them end with the axis."""
    first = max(lane.first_on, span[0])
    text = lane.words
    if len(text) > LONGEST_WORDS:
        text = f"{text[: LONGEST_WORDS - 1].rstrip()}…"
    begins = (first - span[0]) / (span[1] - span[0])
    is_late = begins + len(text) / LETTERS_ACROSS > 1
    return {
        "x": (span[1] if is_late else first).isoformat(),
        "y": height + WORDS_ABOVE,
        "text": text.replace("<", "&lt;"),
        "xanchor": "right" if is_late else "left",
        "showarrow": False,
        "yanchor": "middle",
    }
