"""Scenes that bend the knees on the spot: squats, split squats, lunges."""

from __future__ import annotations

from .figure import Limb, Placed, Point, Pose, Reaching, Turned
from .ink import Mark
from .picture import Panel, Scene
from .props import arrow, bench, chair, dumbbell, plate, rail, wall
from .stances import DOWN, FLOOR, FORWARDS, upright

TOGETHER = (Reaching(80, 5), Reaching(80, 5))


def squat(
    depth: Point,
    trunk: float,
    *,
    arm: Limb = FORWARDS,
    behind: tuple[Mark, ...] = (),
    start: tuple[Mark, ...] = (),
    end: tuple[Mark, ...] = (),
) -> Scene:
    """From standing down to where the hip ends."""
    low = upright(depth, *TOGETHER, trunk=trunk, arm=arm)
    return Scene(
        (
            Panel(
                upright((80, 76.5), *TOGETHER, arm=arm),
                (FLOOR, *behind),
                start,
                arrow((52, 84), (44, 58), 5),
            ),
            Panel(low, (FLOOR, *behind), end),
        )
    )


HIGH_SEAT = (FLOOR, *chair(72, 50, 40))
ON_FEET = (Reaching(98, 5), Reaching(98, 5))
WALL = (FLOOR, *wall(36))
HOLDING = Reaching(116, 92, bend=-1)

SQUATS = {
    "sit_to_stand_high": Scene(
        (
            Panel(
                upright((60, 62), *ON_FEET, trunk=62, arm=Turned(-40, -10)),
                HIGH_SEAT,
                arrows=arrow((112, 84), (126, 122), -6),
            ),
            Panel(upright((96, 76.5), *ON_FEET, arm=DOWN), HIGH_SEAT),
        )
    ),
    "squat_small": squat((66, 69), 76, arm=HOLDING, behind=rail(138, 90, grip=26)),
    "squat_half": squat((60, 63), 66),
    "squat_deep": squat((48, 45), 56, arm=Turned(6, 8)),
    "squat_weight": Scene(
        (
            Panel(
                upright((80, 76.5), *TOGETHER, arm=Turned(-70, 40)),
                (FLOOR,),
                plate(106, 112),
                arrow((52, 84), (44, 58), 5),
            ),
            Panel(
                upright((50, 44), *TOGETHER, trunk=62, arm=Turned(-70, 35)),
                (FLOOR,),
                plate(98, 74),
            ),
        )
    ),
    "wall_squat_hold": Scene(
        (
            Panel(
                upright((49, 73), Reaching(80, 5), Reaching(80, 5), arm=DOWN),
                WALL,
                arrows=arrow((76, 116), (76, 84)),
            ),
            Panel(
                upright((49, 48), Reaching(84, 5), Reaching(84, 5), arm=DOWN),
                WALL,
            ),
        )
    ),
    "single_leg_sit": Scene(
        (
            Panel(
                upright(
                    (94, 76.5), Reaching(96, 5), Turned(-62, -60, 30), arm=FORWARDS
                ),
                (FLOOR, *chair(70, 46, 40)),
                arrows=arrow((70, 92), (54, 72), 4),
            ),
            Panel(
                upright(
                    (60, 58),
                    Reaching(96, 5),
                    Turned(-14, -30, 50),
                    trunk=58,
                    arm=FORWARDS,
                ),
                (FLOOR, *chair(70, 46, 40)),
            ),
        )
    ),
    "single_leg_squat": Scene(
        (
            Panel(
                upright(
                    (80, 76.5), Reaching(82, 5), Turned(-66, -64, 30), arm=FORWARDS
                ),
                (FLOOR,),
                arrows=arrow((52, 84), (44, 60), 5),
            ),
            Panel(
                upright(
                    (60, 60),
                    Reaching(82, 5),
                    Turned(-28, -40, 45),
                    trunk=60,
                    arm=FORWARDS,
                ),
                (FLOOR,),
            ),
        )
    ),
}

# Split squats: front foot to the right.

ON_HIPS = Placed((66, 92), (84, 80))
FRONT, REAR = Reaching(114, 5), Reaching(36, 14, -48)


def split(
    hip: Point, *, arm: Limb | None = None, rear: Limb = REAR, trunk: float = 88
) -> Pose:
    x, y = hip
    on_hips = Placed((x - 12, y + 20), (x + 7, y + 6))
    return upright(hip, FRONT, rear, trunk=trunk, arm=arm or on_hips)


def split_scene(
    low: Point,
    *,
    arms: tuple[Limb | None, Limb | None] = (None, None),
    behind: tuple[Mark, ...] = (),
    start: tuple[Mark, ...] = (),
    end: tuple[Mark, ...] = (),
    rear: Limb = REAR,
) -> Scene:
    place = (FLOOR, *behind)
    return Scene(
        (
            Panel(
                split((76, 68), arm=arms[0], rear=rear),
                place,
                start,
                arrow((48, 88), (48, 62)),
            ),
            Panel(split(low, arm=arms[1], rear=rear), place, end),
        )
    )


RAIL = rail(146, 88, grip=30)
HOLDS = (Reaching(119, 90, bend=-1), Reaching(119, 90, bend=-1))

SPLITS = {
    "split_squat_small": split_scene((76, 63), arms=HOLDS, behind=RAIL),
    "split_squat_assisted": split_scene((75, 53), arms=HOLDS, behind=RAIL),
    "split_squat_half": split_scene((75, 53)),
    "split_squat_full": split_scene((74, 42)),
    "split_squat_loaded": split_scene(
        (74, 42), arms=(DOWN, DOWN), start=dumbbell(77, 62), end=dumbbell(75, 36)
    ),
    "split_squat_rear_raised": split_scene(
        (80, 44), behind=bench(6, 40, 36), rear=Reaching(32, 45, 182)
    ),
    "lunge_backward": Scene(
        (
            Panel(
                upright((108, 76), Reaching(114, 5), Turned(-110, -150, -60), arm=DOWN),
                (FLOOR,),
                arrows=arrow((66, 50), (40, 24), -8),
            ),
            Panel(split((74, 42)), (FLOOR,)),
        )
    ),
    "lunge_walking": Scene(
        (
            Panel(
                upright((66, 76), Turned(-30, -85), Reaching(64, 5), arm=DOWN),
                (FLOOR,),
                arrows=arrow((112, 50), (140, 22), 8),
            ),
            Panel(split((74, 42)), (FLOOR,), arrows=arrow((116, 100), (150, 100))),
        )
    ),
}

SCENES = SQUATS | SPLITS
