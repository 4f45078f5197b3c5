"""Scenes on steps and machines: step-ups, step-downs, press, knee extension."""

from __future__ import annotations

from .figure import Limb, Placed, Point, Pose, Reaching, Turned, away
from .ink import Mark
from .picture import Panel, Scene
from .props import arrow, band, chair, dumbbell, line, step
from .stances import DOWN, FLOOR, FORWARDS, upright


def up(
    height: float,
    *,
    arm: Limb = DOWN,
    end_arm: Limb | None = None,
    free: Limb | None = None,
    behind: tuple[Mark, ...] = (),
    weight: tuple[Mark, ...] = (),
    end_weight: tuple[Mark, ...] = (),
) -> Scene:
    place = (FLOOR, *behind, *step(94, 158, height))
    on = Reaching(112, height + 5)
    top = upright((113, height + 76.5), on, free or on, arm=end_arm or arm)
    low = upright((80, 76), on, Reaching(66, 5, -4), trunk=80, arm=arm)
    rise = arrow((46, 92), (56, 128), -6)
    return Scene((Panel(low, place, weight, rise), Panel(top, place, end_weight)))


def down(height: float, hip: Point, heel: float) -> Scene:
    """Standing on the edge of a step, the free heel goes down in front of it."""
    place = (FLOOR, *step(34, 92, height))
    on = Reaching(82, height + 5)
    start = upright((80, height + 76.5), on, Turned(-60, -80), arm=FORWARDS)
    end = upright(hip, on, Reaching(heel, 6, 22), trunk=78, arm=FORWARDS)
    lower = arrow((134, height + 40), (134, 14))
    return Scene((Panel(start, place, arrows=lower), Panel(end, place)))


STEPS = {
    "step_up_low": up(
        10,
        arm=Reaching(120, 96, bend=-1),
        end_arm=Reaching(146, 96, bend=-1),
        behind=(
            line((166, 0), (166, 98), width=3.5),
            line((112, 98), (166, 98), width=4),
        ),
    ),
    "step_up_stair": up(15),
    "step_up_loaded": up(15, weight=dumbbell(87, 70), end_weight=dumbbell(114, 85)),
    "step_up_high": up(32, free=Turned(2, -88), arm=Turned(-110, -40)),
    "step_down_low": down(8, (80, 74), 102),
    "step_down_stair": down(14, (80, 74), 104),
}

# Machines and sitting.


def press(ankles: float, *, is_single: bool = False) -> Panel:
    """Sitting back, feet against a plate that is pushed away."""
    foot = Reaching(ankles, 58, 80)
    far: Limb = Turned(20, -60, 20) if is_single else foot
    pose = Pose(
        hip=(54, 40),
        trunk=118,
        head=112,
        near_leg=foot,
        far_leg=far,
        near_arm=Placed((48, 62), (62, 46)),
        far_arm=Placed((48, 62), (62, 46)),
    )
    machine = (
        line((20, 86), (46, 29), (72, 27), width=5),
        line((48, 26), (48, 0), width=3),
        line((40, 6), (166, 6), width=3),
        line((ankles + 10, 34), (ankles + 10, 84), width=6),
        line((ankles + 10, 36), (ankles + 10, 8), width=3),
    )
    return Panel(pose, (FLOOR, *machine))


def pressing(start: float, end: float = 123.0, *, is_single: bool = False) -> Scene:
    first = press(start, is_single=is_single)
    push = arrow((start + 18, 96), (start + 44, 96))
    return Scene(
        (
            Panel(first.pose, first.behind, arrows=push),
            press(end, is_single=is_single),
        )
    )


def seated(shin: float) -> Panel:
    pose = upright(
        (62, 52),
        Turned(0, shin, shin + 90),
        Turned(-4, -90, 0),
        arm=Reaching(58, 50, bend=-1),
    )
    ankle = pose_ankle(shin)
    return Panel(pose, (FLOOR, *chair(88, 42, 40)), band((88, 8), ankle))


def pose_ankle(shin: float) -> Point:
    """The ankle of the near leg, where the band is."""
    return away((98, 52), shin, 34)


MACHINES = {
    "leg_press_small": pressing(117),
    "leg_press_deep": pressing(102),
    "leg_press_single": pressing(102, is_single=True),
    "knee_extension_90_45": Scene(
        (
            Panel(
                seated(-90).pose,
                seated(-90).behind,
                seated(-90).before,
                arrow((116, 18), (138, 34), -6),
            ),
            seated(-45),
        )
    ),
}

SCENES = STEPS | MACHINES
