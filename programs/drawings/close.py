"""Close views: the arch of the foot, tape at the kneecap, an insole."""

from __future__ import annotations

from dataclasses import replace

from .foot import LINE, curve, foot, outline
from .ink import Dot, Stroke
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


# A knee from the front, the inner side to the right.
LEG = (
    curve(*outline("44 160, 46 130, 52 112, 52 94, 50 70, 56 40, 62 4")),
    curve(*outline("138 160, 134 130, 126 112, 128 92, 130 68, 124 40, 116 4")),
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
            Panel(None, (*LEG, KNEECAP), (), arrow((66, 124), (112, 124), 4)),
            Panel(None, (*LEG, KNEECAP), (STRIP, *EDGES)),
        )
    ),
}


INSOLE_OUTLINE = outline(
    "0 11, 0 4, 2 0, 12 0, 60 0, 90 0, 128 0, 132 2, 130 5, 124 5, 100 5, 90 18,"
    "62 18, 42 18, 30 6, 14 6, 8 6, 4 11, 0 11"
)
SHOE_OUTLINE = outline(
    "16 66, 14 44, 10 24, 12 10, 12 4, 16 2, 22 2, 60 2, 110 2, 154 2, 164 2,"
    "168 10, 164 20, 156 36, 126 36, 104 48, 90 56, 80 66, 70 72, 54 62, 34 62, 16 66"
)
SHOE = (
    curve(*SHOE_OUTLINE, is_closed=True),
    Stroke(((12, 10), (166, 10)), width=2),
)


def insole(left: float, bottom: float) -> Stroke:
    """Seen from the inner side, the heel to the left."""
    points = tuple((left + x, bottom + y) for x, y in INSOLE_OUTLINE)
    return replace(curve(*points, is_closed=True), is_filled=True)


INSOLE = {
    "orthoses_prefabricated": Scene(
        (
            Panel(None, (), (insole(22, 40),)),
            Panel(
                None,
                (ground(),),
                (*SHOE, insole(20, 14)),
                arrow((60, 110), (60, 80)),
            ),
        )
    ),
}

SCENES = FOOT | TAPE | INSOLE
