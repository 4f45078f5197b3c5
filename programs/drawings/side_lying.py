"""Scenes on the side: lying, and bridges from forearm and knees or feet."""

from __future__ import annotations

from .figure import Placed, Pose, Turned
from .picture import Panel, Scene
from .props import arrow, mat

# Lying: seen from the front, the upper limb is the near one.

UNDER_HEAD = Placed((34, 6), (17, 8))
IN_FRONT = Placed((64, 20), (56, 6))


def on_side(near: Placed | Turned, far: Placed | Turned) -> Pose:
    """Lying on the side with the head to the left."""
    return Pose(
        hip=(92, 18),
        trunk=180,
        head=172,
        pelvis=90,
        near_leg=near,
        far_leg=far,
        near_arm=IN_FRONT,
        far_arm=UNDER_HEAD,
        is_front=True,
    )


CLAM_BELOW = Placed((122, 4), (146, 8), 0)
LIFT_BELOW = Placed((122, 4), (148, 13), -60)

SIDE = {
    "side_lying_clam": Scene(
        (
            Panel(
                on_side(Placed((121, 17), (146, 21), 0), CLAM_BELOW),
                (mat(),),
                arrows=arrow((134, 36), (122, 66), -8),
            ),
            Panel(on_side(Placed((116, 54), (146, 21), 0), CLAM_BELOW), (mat(),)),
        )
    ),
    "side_lying_leg_lift": Scene(
        (
            Panel(
                on_side(Turned(0, 0, -60), LIFT_BELOW),
                (mat(),),
                arrows=arrow((160, 42), (142, 78), 6),
            ),
            Panel(on_side(Turned(34, 34, -30), LIFT_BELOW), (mat(),)),
        )
    ),
}

# Side bridges: seen from behind, so the bent lower legs come towards the viewer.


def side_bridge(
    hip: tuple[float, float],
    trunk: float,
    near: Placed | Turned,
    far: Placed | Turned,
    elbow: tuple[float, float],
) -> Pose:
    """Leaning on the forearm, the upper hand on the hip."""
    across, up = hip
    return Pose(
        hip=hip,
        trunk=trunk,
        head=trunk - 8,
        pelvis=trunk - 90,
        near_leg=near,
        far_leg=far,
        near_arm=Placed((across - 16, up + 34), (across + 2, up + 16)),
        far_arm=Placed(elbow, (elbow[0] + 13, elbow[1] - 3)),
        is_front=True,
    )


SHINS = (Placed((122, 37), (130, 14), -30), Placed((117, 25), (124, 3), -30))
KNEES_DOWN = side_bridge(
    (84, 32),
    145,
    Placed((116, 35), (126, 13), -30),
    Placed((111, 23), (120, 3), -30),
    (40, 28),
)
KNEES_UP = side_bridge((86, 49), 157, *SHINS, (40, 28))
KNEES_LIFT = side_bridge((86, 49), 157, Turned(2, 2, -70), SHINS[1], (40, 28))
ELBOW = (40.0, 12.0)
FEET_DOWN = side_bridge((82, 17), 145, Turned(-2, -2, -70), Turned(-4, 0, -70), ELBOW)
FEET_UP = side_bridge(
    (84, 32), 162, Turned(-18, -18, -70), Turned(-17, -17, -70), ELBOW
)
FEET_LIFT = side_bridge(
    (84, 32), 162, Turned(10, 10, -60), Turned(-17, -17, -70), ELBOW
)

DEEP_MAT = (mat(depth=44),)

SIDE |= {
    "side_bridge_knees": Scene(
        (
            Panel(KNEES_DOWN, DEEP_MAT, arrows=arrow((100, 74), (100, 100))),
            Panel(KNEES_UP, DEEP_MAT),
        )
    ),
    "side_bridge_knees_lift": Scene(
        (
            Panel(KNEES_UP, DEEP_MAT, arrows=arrow((146, 36), (154, 62), -4)),
            Panel(KNEES_LIFT, DEEP_MAT),
        )
    ),
    "side_bridge_feet": Scene(
        (
            Panel(FEET_DOWN, (mat(),), arrows=arrow((96, 58), (96, 84))),
            Panel(FEET_UP, (mat(),)),
        )
    ),
    "side_bridge_feet_lift": Scene(
        (
            Panel(FEET_UP, (mat(),), arrows=arrow((156, 34), (148, 66), 4)),
            Panel(FEET_LIFT, (mat(),)),
        )
    ),
}

SCENES = SIDE
