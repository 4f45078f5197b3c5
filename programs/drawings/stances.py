"""What many scenes share: the floor, arms, a person seen from the side."""

from __future__ import annotations

from .figure import Limb, Point, Pose, Turned
from .picture import Panel, Scene
from .props import ground

FLOOR = ground()
DOWN = Turned(-92, -88)
HANGING = Turned(-100, -84)
FORWARDS = Turned(-4, 2)


def two(first: Panel, second: Panel) -> Scene:
    return Scene((first, second))


def upright(
    hip: Point,
    near: Limb,
    far: Limb,
    *,
    trunk: float = 90.0,
    arm: Limb = HANGING,
    far_arm: Limb | None = None,
) -> Pose:
    """Seen from the side, facing right; both arms alike unless the far one differs."""
    return Pose(
        hip=hip,
        trunk=trunk,
        near_leg=near,
        far_leg=far,
        near_arm=arm,
        far_arm=far_arm or arm,
    )
