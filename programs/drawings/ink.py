"""Strokes and dots, and how they become SVG."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from .figure import Point

GROUND = 188.0  # from the upper edge of the picture


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through points; soft ink is further away.

    A curve has its first point and then three for every bend, as in SVG.
    """

    points: tuple[Point, ...]
    width: float = 2.0
    is_soft: bool = False
    is_filled: bool = False
    is_closed: bool = False
    is_curved: bool = False
    is_dashed: bool = False

    def moved(self, across: float) -> Stroke:
        points = tuple((x + across, y) for x, y in self.points)
        return replace(self, points=points)


@dataclass(frozen=True, slots=True)
class Dot:
    """A disc, or a ring where it is not filled."""

    middle: Point
    radius: float
    width: float = 2.0
    is_soft: bool = False
    is_filled: bool = True

    def moved(self, across: float) -> Dot:
        x, y = self.middle
        return replace(self, middle=(x + across, y))


Mark = Stroke | Dot
SOFT = "0.42"


def number(value: float) -> str:
    """Write a number with one decimal at most, so that files stay the same."""
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


def place(point: Point) -> str:
    return f"{number(point[0])} {number(GROUND - point[1])}"


def svg(mark: Mark, *, colour: str = "currentColor", halo: float = 0.0) -> str:
    """One element; a halo widens it, to cut a gap into what lies behind."""
    if isinstance(mark, Dot):
        return _dot(mark, colour, halo)
    is_filled = mark.is_filled or (mark.is_closed and halo > 0)
    fill = colour if is_filled else "none"
    dash = ' stroke-dasharray="4 5"' if mark.is_dashed and not halo else ""
    return (
        f'<path d="{_path(mark)}" fill="{fill}" stroke="{colour}"'
        f' stroke-width="{number(mark.width + 2 * halo)}"{dash}/>'
    )


def _dot(dot: Dot, colour: str, halo: float) -> str:
    x, y = place(dot.middle).split()
    head = f'<circle cx="{x}" cy="{y}" r="{number(dot.radius + halo)}"'
    if dot.is_filled or halo:
        return f'{head} fill="{colour}"/>'
    width = number(dot.width)
    return f'{head} fill="none" stroke="{colour}" stroke-width="{width}"/>'


def _path(stroke: Stroke) -> str:
    first, *rest = (place(point) for point in stroke.points)
    letter = "C" if stroke.is_curved else "L"
    return f"M{first}{letter}{' '.join(rest)}" + ("Z" if stroke.is_closed else "")


def svgs(marks: Iterable[Mark]) -> str:
    """Several elements; soft ones share one group, so that joints do not darken."""
    soft: list[str] = []
    full: list[str] = []
    for mark in marks:
        (soft if mark.is_soft else full).append(svg(mark))
    behind = f'<g opacity="{SOFT}">{"".join(soft)}</g>' if soft else ""
    return behind + "".join(full)
