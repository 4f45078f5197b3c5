"""Scenes seen from the front: what moves or holds the hip sideways.

The near side is the right side of the picture.
"""

from __future__ import annotations

from .figure import Limb, Placed, Point, Pose, Reaching, Turned
from .picture import Panel, Scene
from .props import arrow, band, rail, step, wall
from .stances import FLOOR, two


def from_front(
    hip: Point,
    near: Limb,
    far: Limb,
    *,
    pelvis: float = 0.0,
    near_arm: Limb | None = None,
    far_arm: Limb | None = None,
) -> Pose:
    return Pose(
        hip=hip,
        pelvis=pelvis,
        near_leg=near,
        far_leg=far,
        near_arm=near_arm or Turned(-76, -104),
        far_arm=far_arm or Turned(-104, -76),
        is_front=True,
    )


def straight(x: float, y: float = 8.0) -> Reaching:
    """A straight leg, seen from the front, with the ankle there."""
    return Reaching(x, y, -80, 0)


ON_HIP = Placed((126, 103), (103, 88))
HOLDING = Reaching(44, 86, bend=-1)
RAIL = (FLOOR, *rail(38, grip=4))
WALL = (FLOOR, *wall(122))
STEP = (FLOOR, *step(76, 132, 26))
BAND_NARROW, BAND_WIDE = band((72, 16), (100, 16)), band((72, 16), (134, 16))


def hitch(pelvis: float, drop: float) -> Pose:
    return from_front(
        (84, 103),
        straight(92, 34),
        straight(66, 28 - drop),
        pelvis=pelvis,
        near_arm=Placed((122, 130), (102, 110)),
        far_arm=Placed((46, 130), (66, 110)),
    )


SCENES = {
    "standing_leg_lift": two(
        Panel(
            from_front((85, 79), straight(93), straight(77), far_arm=HOLDING),
            RAIL,
            arrows=arrow((110, 14), (136, 30), -5),
        ),
        Panel(
            from_front((85, 79), Turned(-58, -58, -50), straight(77), far_arm=HOLDING),
            RAIL,
        ),
    ),
    "wall_press": Scene(
        (
            Panel(
                from_front(
                    (92, 79),
                    Placed((111, 80), (109, 46), -80),
                    straight(86),
                    near_arm=Placed((117, 106), (101, 94)),
                    far_arm=Placed((54, 103), (80, 88)),
                ),
                WALL,
                arrows=arrow((96, 24), (114, 24)),
            ),
        )
    ),
    "hip_hitch": two(
        Panel(hitch(16, 10), STEP, arrows=arrow((46, 60), (46, 90))),
        Panel(hitch(-8, -4), STEP),
    ),
    "band_side_step": two(
        Panel(
            from_front(
                (86, 74),
                Reaching(100, 8, -80, 1),
                Reaching(72, 8, -80, -1),
                near_arm=Placed((126, 98), (102, 84)),
                far_arm=Placed((46, 98), (70, 84)),
            ),
            (FLOOR,),
            BAND_NARROW,
            arrow((112, 22), (146, 22), -8),
        ),
        Panel(
            from_front(
                (103, 68),
                Reaching(134, 8, -80, 1),
                Reaching(72, 8, -80, -1),
                near_arm=Placed((143, 92), (119, 78)),
                far_arm=Placed((63, 92), (87, 78)),
            ),
            (FLOOR,),
            BAND_WIDE,
        ),
    ),
}
