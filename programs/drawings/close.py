"""Close views: the arch of the foot, tape at the kneecap, an insole."""

from __future__ import annotations

from .foot import LINE, curve, foot
from .ink import Dot, Mark, Stroke
from .picture import Panel, Scene
from .props import arrow, ground

FOOT = {
    "short_foot_sitting": Scene(
        (
            Panel(
                None,
                (ground(),),
                foot(5, 0),
                (*arrow((82, 14), (82, 38)), *arrow((136, 34), (112, 44), 2)),
            ),
            Panel(None, (ground(),), foot(16, 8)),
        )
    ),
}


def leg_outline() -> tuple[Mark, ...]:
    """A bent knee from the front, the inner side to the right."""
    return (
        curve((44, 160), (46, 130), (52, 112), (52, 94), (50, 70), (56, 40), (62, 4)),
        curve(
            (138, 160),
            (134, 130),
            (126, 112),
            (128, 92),
            (130, 68),
            (124, 40),
            (116, 4),
        ),
    )


KNEECAP = Dot((90, 92), 19, width=LINE, is_filled=False)
STRIP = Stroke(((66, 80), (126, 72), (130, 102), (68, 106)), width=LINE, is_closed=True)
EDGES = tuple(
    Stroke(((x, 80 - (x - 66) * 0.13), (x + 2, 106 - (x - 66) * 0.06)), width=1.4)
    for x in range(74, 124, 8)
)

TAPE = {
    "taping_tailored": Scene(
        (
            Panel(None, (*leg_outline(), KNEECAP), (), arrow((66, 124), (112, 124), 4)),
            Panel(None, (*leg_outline(), KNEECAP), (STRIP, *EDGES)),
        )
    ),
}


def insole(left: float, bottom: float) -> Stroke:
    x, y = left, bottom
    return Stroke(
        (
            (x, y + 11),
            (x, y + 4),
            (x + 2, y),
            (x + 12, y),
            (x + 60, y),
            (x + 90, y),
            (x + 128, y),
            (x + 132, y + 2),
            (x + 130, y + 5),
            (x + 124, y + 5),
            (x + 100, y + 5),
            (x + 90, y + 18),
            (x + 62, y + 18),
            (x + 42, y + 18),
            (x + 30, y + 6),
            (x + 14, y + 6),
            (x + 8, y + 6),
            (x + 4, y + 11),
            (x, y + 11),
        ),
        width=LINE,
        is_curved=True,
        is_closed=True,
        is_filled=True,
    )


def shoe() -> tuple[Mark, ...]:
    return (
        curve(
            (16, 66),
            (14, 44),
            (10, 24),
            (12, 10),
            (12, 4),
            (16, 2),
            (22, 2),
            (60, 2),
            (110, 2),
            (154, 2),
            (164, 2),
            (168, 10),
            (164, 20),
            (156, 36),
            (126, 36),
            (104, 48),
            (90, 56),
            (80, 66),
            (70, 72),
            (54, 62),
            (34, 62),
            (16, 66),
            is_closed=True,
        ),
        Stroke(((12, 10), (166, 10)), width=2),
    )


INSOLE = {
    "orthoses_prefabricated": Scene(
        (
            Panel(None, (), (insole(22, 40),)),
            Panel(
                None,
                (ground(),),
                (*shoe(), insole(20, 14)),
                arrow((60, 110), (60, 80)),
            ),
        )
    ),
}

SCENES = FOOT | TAPE | INSOLE
