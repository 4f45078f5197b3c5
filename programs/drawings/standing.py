"""Scenes on both feet or one, seen from the side: hinge, calf, balance, running."""

from __future__ import annotations

from .figure import Limb, Placed, Point, Pose, Reaching, Turned
from .foot import foot
from .ink import Mark
from .picture import Panel, Scene
from .props import arrow, chair, dumbbell, rail, step, wall
from .stances import DOWN, FLOOR, FORWARDS, two, upright


def hinge(hip: Point, trunk: float, far: Limb, *, arm: Limb, at: float = 78) -> Pose:
    return upright(hip, Reaching(at, 5), far, trunk=trunk, arm=arm)


BESIDE = Reaching(78, 5)
BACK_LEG = Turned(190, 188, -100)
HINGE_WALL = (FLOOR, *wall(38))
CHAIR = (FLOOR, *chair(172, depth=30))
ON_CHAIR = Reaching(142, 91, bend=-1)


HINGES = {
    "hinge_wall": two(
        Panel(
            hinge((78, 76), 90, BESIDE, arm=DOWN),
            HINGE_WALL,
            arrows=arrow((62, 78), (42, 72), 2),
        ),
        Panel(hinge((50, 68), 28, BESIDE, arm=Turned(-100, -60)), HINGE_WALL),
    ),
    "hinge_loaded": two(
        Panel(
            hinge((78, 76), 90, BESIDE, arm=Turned(-80, -84)),
            (FLOOR,),
            dumbbell(86, 70),
            arrow((62, 80), (42, 76), 2),
        ),
        Panel(
            hinge((58, 70), 22, BESIDE, arm=Turned(-90, -90)),
            (FLOOR,),
            dumbbell(98.8, 37),
        ),
    ),
    "hinge_single_leg_support": two(
        Panel(
            hinge((96, 76), 82, Reaching(94, 5), arm=ON_CHAIR, at=94),
            CHAIR,
            arrows=arrow((74, 24), (42, 50), -10),
        ),
        Panel(hinge((84, 72), 38, BACK_LEG, arm=ON_CHAIR, at=94), CHAIR),
    ),
    "hinge_single_leg": two(
        Panel(
            hinge((86, 76), 90, Reaching(88, 5), arm=DOWN, at=88),
            (FLOOR,),
            arrows=arrow((64, 24), (34, 52), -10),
        ),
        Panel(hinge((84, 74), 12, BACK_LEG, arm=Turned(-90, -90), at=88), (FLOOR,)),
    ),
}


def calf(lift: float, far: Limb | None = None) -> Pose:
    """Standing, the heels lifted by so much over the balls of the feet."""
    near = Reaching(80 + lift / 3, 5 + lift, -4 * lift)
    return upright(
        (80 + lift / 3, 77 + lift),
        near,
        far or near,
        arm=Reaching(110, 99, bend=-1),
    )


CALF_RAIL = (FLOOR, *rail(126, 96, grip=20))
BENT_BACK = Turned(-96, -165, -70)
CALF_STEP = (FLOOR, *step(82, 124, 18), *rail(134, 116, grip=28))


def calf_on_step(ankle: Point, foot: float) -> Panel:
    """On the edge of a step, a weight in the near hand, the far hand on the rail."""
    x, y = ankle
    pose = upright(
        (x + 2, y + 72),
        Reaching(x, y, foot),
        BENT_BACK,
        arm=DOWN,
        far_arm=Reaching(109, 118, bend=-1),
    )
    return Panel(pose, CALF_STEP, dumbbell(x + 2, y + 70))


SEATED = (FLOOR, *chair(74, 42, 32))


def sitting(near: Limb) -> Pose:
    return upright((58, 52), near, near, arm=Reaching(88, 62, bend=-1))


LOW_HEEL = calf_on_step((74, 14), 32)
HIGH_HEEL = calf_on_step((77, 35), -50)

CALF = {
    "calf_raise_sitting": two(
        Panel(
            sitting(Placed((94, 46), (94, 10), -10)),
            SEATED,
            arrows=arrow((83, 6), (83, 30)),
        ),
        Panel(sitting(Placed((94, 54), (94, 19), -52)), SEATED),
    ),
    "calf_raise": two(
        Panel(calf(0), CALF_RAIL, arrows=arrow((60, 8), (60, 34))),
        Panel(calf(13), CALF_RAIL),
    ),
    "calf_raise_single": two(
        Panel(calf(0, BENT_BACK), CALF_RAIL, arrows=arrow((62, 6), (62, 26))),
        Panel(calf(13, BENT_BACK), CALF_RAIL),
    ),
    "calf_raise_step": two(
        Panel(
            LOW_HEEL.pose,
            CALF_STEP,
            LOW_HEEL.before,
            arrow((54, 8), (54, 34)),
        ),
        HIGH_HEEL,
    ),
}

BALANCE_RAIL = (FLOOR, *rail(130, grip=4))

BALANCE = {
    "short_foot_single_leg": two(
        Panel(
            upright(
                (80, 76),
                Reaching(82, 5),
                Turned(-30, -110, -20),
                arm=Turned(-70, -30),
                far_arm=Turned(-130, -100),
            ),
            BALANCE_RAIL,
        ),
        Panel(None, (FLOOR,), foot(16, 6), arrow((82, 4), (82, 36))),
    ),
    "single_leg_reach": two(
        Panel(
            upright(
                (78, 72), Reaching(84, 5), Reaching(122, 6), trunk=86, arm=FORWARDS
            ),
            (FLOOR,),
            arrows=arrow((110, 44), (136, 24), 5),
        ),
        Panel(
            upright(
                (82, 70), Reaching(84, 5), Reaching(36, 12, -40), trunk=70, arm=FORWARDS
            ),
            (FLOOR,),
            arrows=arrow((46, 48), (24, 30), -5),
        ),
    ),
}


def walking(near: Limb, far: Limb, near_arm: Limb, far_arm: Limb) -> Pose:
    return upright((84, 75), near, far, trunk=87, arm=near_arm, far_arm=far_arm)


STRIDE = walking(
    Reaching(112, 8, 20), Reaching(54, 14, -45), Turned(-125, -100), Turned(-55, -30)
)
OTHER_STRIDE = walking(
    Reaching(54, 14, -45), Reaching(112, 8, 20), Turned(-55, -30), Turned(-125, -100)
)
RUNNING = upright(
    (84, 80),
    Turned(-25, -105, -15),
    Turned(-115, -190, -110),
    trunk=80,
    arm=Turned(-140, -45),
    far_arm=Turned(-50, 55),
)
ONWARDS = arrow((116, 132), (150, 132))

MOVING: dict[str, Scene] = {
    "walk_brisk": two(
        Panel(STRIDE, (FLOOR,), arrows=ONWARDS),
        Panel(OTHER_STRIDE, (FLOOR,), arrows=ONWARDS),
    ),
    "walk_run_first": two(
        Panel(STRIDE, (FLOOR,), arrows=ONWARDS),
        Panel(RUNNING, (FLOOR,), arrows=ONWARDS),
    ),
}


def landed(far: Limb) -> Pose:
    return upright((66, 56), Reaching(82, 5), far, trunk=58, arm=Turned(-110, -60))


def airborne(far: Limb) -> Pose:
    return upright((80, 92), Turned(-82, -98, -50), far, trunk=86, arm=Turned(-30, 20))


DROP: tuple[Mark, ...] = arrow((124, 96), (124, 56))
BENT = Turned(-75, -165, -80)

MOVING |= {
    "jump_land": two(
        Panel(airborne(Turned(-82, -98, -50)), (FLOOR,), arrows=DROP),
        Panel(landed(Reaching(82, 5)), (FLOOR,)),
    ),
    "hop_on_spot": two(
        Panel(airborne(BENT), (FLOOR,), arrows=DROP),
        Panel(landed(Turned(-70, -170, -80)), (FLOOR,)),
    ),
}

SCENES = HINGES | CALF | BALANCE | MOVING
