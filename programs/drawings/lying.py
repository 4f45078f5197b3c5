"""Scenes on the floor: on the back, on hands, forearms and feet, or with a bench."""

from __future__ import annotations

from .figure import Placed, Pose, Reaching, Turned
from .picture import Panel, Scene
from .props import arrow, bench, towel
from .stances import FLOOR

# On the back, head to the left.

ALONG = Turned(-10, 0)


def on_back(
    near: Reaching | Turned | Placed,
    far: Reaching | Turned | Placed,
    *,
    near_arm: Turned = ALONG,
    far_arm: Turned = ALONG,
) -> Pose:
    return Pose(
        hip=(82, 9.5),
        trunk=180,
        head=176,
        near_leg=near,
        far_leg=far,
        near_arm=near_arm,
        far_arm=far_arm,
    )


def bridging(near: Reaching | Turned, far: Reaching | Turned) -> Pose:
    """Hips lifted, shoulders where they lie."""
    return Pose(
        hip=(73, 36.6),
        trunk=218,
        head=176,
        near_leg=near,
        far_leg=far,
        near_arm=Turned(-10, 0),
        far_arm=Turned(-10, 0),
    )


FEET = (Reaching(120, 5), Reaching(120, 5))
SQUARE = Turned(90, 0, 80)
UP = Turned(90, 90)

BACK = {
    "bridge": Scene(
        (
            Panel(on_back(*FEET), (FLOOR,), arrows=arrow((78, 30), (78, 58))),
            Panel(bridging(*FEET), (FLOOR,)),
        )
    ),
    "bridge_single_leg": Scene(
        (
            Panel(
                on_back(FEET[0], Turned(48, 48, 110)),
                (FLOOR,),
                arrows=arrow((72, 30), (72, 58)),
            ),
            Panel(bridging(FEET[0], Turned(38, 38, 110)), (FLOOR,)),
        )
    ),
    "bridge_march": Scene(
        (
            Panel(bridging(*FEET), (FLOOR,), arrows=arrow((128, 22), (128, 48))),
            Panel(bridging(FEET[0], Turned(62, -40, 50)), (FLOOR,)),
        )
    ),
    "straight_leg_raise": Scene(
        (
            Panel(
                on_back(Turned(-2, -2, 85), FEET[0]),
                (FLOOR,),
                arrows=arrow((162, 34), (144, 72), 8),
            ),
            Panel(on_back(Turned(36, 36, 125), FEET[0]), (FLOOR,)),
        )
    ),
    "heel_tap_lying": Scene(
        (
            Panel(
                on_back(SQUARE, SQUARE),
                (FLOOR,),
                arrows=arrow((142, 46), (146, 14), 8),
            ),
            Panel(on_back(Turned(44, -46, 40), SQUARE), (FLOOR,)),
        )
    ),
    "arm_leg_lowering": Scene(
        (
            Panel(
                on_back(SQUARE, SQUARE, near_arm=UP, far_arm=UP),
                (FLOOR,),
                arrows=(
                    *arrow((140, 40), (156, 22), 4),
                    *arrow((26, 60), (6, 40), 6),
                ),
            ),
            Panel(
                on_back(
                    Turned(14, 10, 95), SQUARE, near_arm=UP, far_arm=Turned(150, 158)
                ),
                (FLOOR,),
            ),
        )
    ),
    "thigh_squeeze": Scene(
        tuple(
            Panel(
                Pose(
                    hip=(62, 10),
                    trunk=104,
                    head=92,
                    near_leg=Placed(knee, (132, 7), 88),
                    far_leg=Placed(knee, (132, 7), 88),
                    near_arm=Reaching(26, 4, bend=1),
                    far_arm=Reaching(30, 4, bend=1),
                ),
                (FLOOR, *towel(97, 4.5, 5)),
                arrows=arrows,
            )
            for knee, arrows in (
                ((97, 20), arrow((118, 52), (106, 28), -4)),
                ((97, 15), ()),
            )
        )
    ),
}

# On hands and knees, forearms and toes; and with the shoulders on a bench.


KNEELING = Placed((80, 9), (44, 8), 200)


def on_all_fours(near_arm: Reaching | Turned, far_leg: Placed | Turned) -> Pose:
    return Pose(
        hip=(80, 45),
        trunk=3,
        head=32,
        near_leg=KNEELING,
        far_leg=far_leg,
        near_arm=near_arm,
        far_arm=Reaching(128, 5, bend=-1),
    )


def thrust(hip: tuple[float, float], trunk: float, far: Reaching | Turned) -> Pose:
    return Pose(
        hip=hip,
        trunk=trunk,
        head=min(trunk, 150),
        near_leg=Reaching(132, 5),
        far_leg=far,
        near_arm=Placed((40, 56), (22, 53)),
        far_arm=Placed((40, 56), (22, 53)),
    )


SEAT = (FLOOR, *bench(16, 60, 42))
LOW, HIGH = ((80, 14), 126.0), ((98, 51), 180.0)

SUPPORTED = {
    "four_point_reach": Scene(
        (
            Panel(
                on_all_fours(Reaching(126, 5, bend=-1), KNEELING),
                (FLOOR,),
                arrows=(
                    *arrow((146, 16), (164, 38), 5),
                    *arrow((50, 20), (26, 42), -5),
                ),
            ),
            Panel(on_all_fours(Turned(6, 4), Turned(178, 176, 230)), (FLOOR,)),
        )
    ),
    "plank_front": Scene(
        (
            Panel(
                Pose(
                    hip=(86, 10),
                    trunk=16,
                    head=30,
                    near_leg=Turned(181, 181, 184),
                    far_leg=Turned(181, 181, 184),
                    near_arm=Placed((126, 5), (149, 5)),
                    far_arm=Placed((126, 5), (149, 5)),
                ),
                (FLOOR,),
                arrows=arrow((78, 30), (78, 56)),
            ),
            Panel(
                Pose(
                    hip=(84.4, 25),
                    trunk=8,
                    head=14,
                    near_leg=Turned(188, 188, -88),
                    far_leg=Turned(188, 188, -88),
                    near_arm=Placed((128, 6), (150, 5)),
                    far_arm=Placed((128, 6), (150, 5)),
                ),
                (FLOOR,),
            ),
        )
    ),
    "hip_thrust": Scene(
        (
            Panel(
                thrust(*LOW, Reaching(132, 5)),
                SEAT,
                arrows=arrow((92, 34), (98, 68), -6),
            ),
            Panel(thrust(*HIGH, Reaching(132, 5)), SEAT),
        )
    ),
    "hip_thrust_single_leg": Scene(
        (
            Panel(
                thrust(*LOW, Turned(50, 20, 100)),
                SEAT,
                arrows=arrow((84, 40), (90, 72), -6),
            ),
            Panel(thrust(*HIGH, Turned(18, 14, 95)), SEAT),
        )
    ),
}

SCENES = BACK | SUPPORTED
