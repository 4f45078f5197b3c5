"""What stands around the person: floor, wall, chair, step, band, machine."""

from __future__ import annotations

from .figure import Point
from .ink import Dot, Mark, Stroke

THIN = 2.4


def line(*points: Point, width: float = THIN, is_soft: bool = False) -> Stroke:
    return Stroke(points, width=width, is_soft=is_soft)


def box(left: float, right: float, bottom: float, top: float) -> Stroke:
    corners = ((left, bottom), (right, bottom), (right, top), (left, top))
    return Stroke(corners, width=THIN, is_closed=True)


def ground(left: float = 4, right: float = 166) -> Stroke:
    return line((left, -1.5), (right, -1.5))


def mat(left: float = 6, right: float = 164, depth: float = 26) -> Stroke:
    """A mat seen a little from above, for those who lie on their side."""
    near = ((left, -2), (right - 10, -2))
    far = ((right, depth), (left + 10, depth))
    return Stroke((*near, *far), width=THIN, is_closed=True, is_soft=True)


def wall(x: float, top: float = 150) -> tuple[Mark, ...]:
    lines = [line((x, -1.5), (x, top), width=4)]
    return tuple(lines)


def step(left: float, right: float, height: float) -> tuple[Mark, ...]:
    return (box(left, right, 0, height),)


def chair(
    front: float, seat: float = 42, depth: float = 38, *, back: int = -1
) -> tuple[Mark, ...]:
    """A chair whose front edge is given; the back is to the left (-1) or right."""
    rear = front + back * depth
    return (
        line((rear, 0), (rear, seat + 44), width=3),
        line((front, 0), (front, seat), width=3),
        line((rear, seat), (front, seat), width=5),
    )


def bench(left: float, right: float, height: float) -> tuple[Mark, ...]:
    top = height - 4
    return (
        line((left, top), (right, top), width=8),
        line((left + 5, 0), (left + 5, top), width=3),
        line((right - 5, 0), (right - 5, top), width=3),
    )


def rail(x: float, height: float = 84, grip: float = 12) -> tuple[Mark, ...]:
    return (
        line((x, 0), (x, height), width=3.5),
        line((x - grip, height), (x + grip / 2, height), width=5),
    )


def dumbbell(x: float, y: float) -> tuple[Mark, ...]:
    """A weight in the hand, seen from the side."""
    return (
        line((x - 7, y), (x + 7, y), width=3),
        line((x - 7, y - 5), (x - 7, y + 5), width=5),
        line((x + 7, y - 5), (x + 7, y + 5), width=5),
    )


def plate(x: float, y: float, radius: float = 8) -> tuple[Mark, ...]:
    """A weight in the hand, seen end on."""
    return (Dot((x, y), radius, width=3, is_filled=False), Dot((x, y), 2))


def band(start: Point, end: Point) -> tuple[Mark, ...]:
    return (line(start, end, width=3.4),)


def towel(x: float, y: float, radius: float = 6) -> tuple[Mark, ...]:
    return (Dot((x, y), radius, is_filled=False), Dot((x, y), 2.4, is_filled=False))


def arrow(start: Point, end: Point, bow: float = 0.0) -> tuple[Mark, ...]:
    """A dashed arrow; bow bends it to the left of its way, in units."""
    across, up = end[0] - start[0], end[1] - start[1]
    length = (across**2 + up**2) ** 0.5
    side = (-up / length * bow * 4 / 3, across / length * bow * 4 / 3)
    pulls = [
        (start[0] + across * at + side[0], start[1] + up * at + side[1])
        for at in (0.2, 0.8)
    ]
    shaft = (start, pulls[0], pulls[1], end)
    return (
        Stroke(shaft, width=2.6, is_curved=True, is_dashed=True),
        _arrow_head(pulls[1], end),
    )


def _arrow_head(origin: Point, tip: Point, size: float = 8.0) -> Stroke:
    across, up = tip[0] - origin[0], tip[1] - origin[1]
    length = (across**2 + up**2) ** 0.5
    ahead = (across / length * size, up / length * size)
    base = (tip[0] - ahead[0] * 0.5, tip[1] - ahead[1] * 0.5)
    side = (-ahead[1] * 0.55, ahead[0] * 0.55)
    corners = (
        (base[0] + side[0], base[1] + side[1]),
        (tip[0] + ahead[0] * 0.5, tip[1] + ahead[1] * 0.5),
        (base[0] - side[0], base[1] - side[1]),
    )
    return Stroke(corners, width=1.2, is_closed=True, is_filled=True)
