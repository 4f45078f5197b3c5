"""A foot from its inner side, close enough to show the arch."""

from __future__ import annotations

from .figure import Point
from .ink import Mark, Stroke

LINE = 3.2


def curve(*points: Point, is_closed: bool = False) -> Stroke:
    return Stroke(points, width=LINE, is_curved=True, is_closed=is_closed)


def outline(text: str) -> tuple[Point, ...]:
    """Points from 'x y, x y': long outlines stay readable on a few lines."""
    pairs = (pair.split() for pair in text.split(","))
    return tuple((float(x), float(y)) for x, y in pairs)


def foot(arch: float, shorter: float) -> tuple[Mark, ...]:
    """The arch rises and the foot gets shorter, in units of the picture."""
    toe, ball = 150 - shorter, 118 - shorter
    heel = outline("40 120, 42 90, 34 60, 26 34, 20 16, 24 3, 42 3, 58 3")
    sole = ((64, arch), (80, arch), (96, arch), (ball - 14, 3), (ball, 3))
    under = ((toe - 14, 4), (toe - 6, 2), (toe, 5))
    over = ((toe + 6, 10), (toe + 2, 18), (toe - 8, 20))
    instep = ((ball, 26), (96 - shorter / 2, 50), (88, 66))
    shin = outline("82 80, 82 100, 82 120")
    nail = Stroke(((toe - 2, 15), (toe + 2, 12)), width=2)
    return curve(*heel, *sole, *under, *over, *instep, *shin), nail
