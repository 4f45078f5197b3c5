"""A person of rounded limbs: from where hip, hands and feet are to every joint."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import atan2, cos, hypot, radians, sin, sqrt

Point = tuple[float, float]

HEAD = 9.5
NECK = 17.0  # shoulder to the middle of the head
TRUNK = 44.0
UPPER_ARM = 23.0
FOREARM = 23.0
THIGH = 36.0
SHANK = 36.0
FOOT = 14.0
FOOT_SEEN_FROM_FRONT = 6.0
HALF_HIPS = 7.0
HALF_SHOULDERS = 13.0


@dataclass(frozen=True, slots=True)
class Turned:
    """A limb by the directions of its parts."""

    upper: float
    lower: float
    end: float = 0.0


@dataclass(frozen=True, slots=True)
class Reaching:
    """A limb by where wrist or ankle is; bend 1 or -1 chooses the side of the joint.

    Bend 0 puts the joint half way, for limbs that are seen foreshortened.
    """

    x: float
    y: float
    end: float = 0.0
    bend: int = 1


@dataclass(frozen=True, slots=True)
class Placed:
    """A limb by its points: knee or elbow, ankle or wrist, and the foot's direction."""

    joint: Point
    tip: Point
    end: float = 0.0


Limb = Turned | Reaching | Placed


@dataclass(frozen=True, slots=True)
class Pose:
    """One position; seen from the front, near is the picture's right-hand side."""

    hip: Point
    near_leg: Limb
    far_leg: Limb
    near_arm: Limb
    far_arm: Limb
    trunk: float = 90.0
    head: float | None = None
    pelvis: float = 0.0
    is_front: bool = False
    has_far_arm: bool = True

    @property
    def shoulder(self) -> Point:
        return away(self.hip, self.trunk, TRUNK)


@dataclass(frozen=True, slots=True)
class Body:
    """The joints of a pose; each limb from its root to its tip."""

    hip: Point
    shoulder: Point
    head: Point
    near_leg: tuple[Point, ...]
    far_leg: tuple[Point, ...]
    near_arm: tuple[Point, ...]
    far_arm: tuple[Point, ...]
    is_front: bool


def away(start: Point, angle: float, length: float) -> Point:
    """The point so far from another in a direction in degrees."""
    turn = radians(angle)
    return start[0] + length * cos(turn), start[1] + length * sin(turn)


def body(pose: Pose) -> Body:
    """Find every joint of a pose."""
    hips = _pair(pose.hip, pose.pelvis, HALF_HIPS, is_front=pose.is_front)
    across = pose.trunk - 90
    shoulders = _pair(pose.shoulder, across, HALF_SHOULDERS, is_front=pose.is_front)
    foot = FOOT_SEEN_FROM_FRONT if pose.is_front else FOOT
    direction = pose.trunk if pose.head is None else pose.head
    return Body(
        hip=pose.hip,
        shoulder=pose.shoulder,
        head=away(pose.shoulder, direction, NECK),
        near_leg=_leg(hips[0], pose.near_leg, foot),
        far_leg=_leg(hips[1], pose.far_leg, foot),
        near_arm=_limb(shoulders[0], pose.near_arm, UPPER_ARM, FOREARM),
        far_arm=_limb(shoulders[1], pose.far_arm, UPPER_ARM, FOREARM)
        if pose.has_far_arm
        else (),
        is_front=pose.is_front,
    )


def _pair(
    middle: Point, angle: float, half: float, *, is_front: bool
) -> tuple[Point, Point]:
    reach = half if is_front else 0.0
    return away(middle, angle, reach), away(middle, angle, -reach)


def _leg(root: Point, limb: Limb, foot: float) -> tuple[Point, ...]:
    joints = _limb(root, limb, THIGH, SHANK)
    return (*joints, away(joints[-1], limb.end, foot))


def _limb(root: Point, limb: Limb, upper: float, lower: float) -> tuple[Point, ...]:
    match limb:
        case Placed():
            return root, limb.joint, limb.tip
        case Turned():
            joint = away(root, limb.upper, upper)
            return root, joint, away(joint, limb.lower, lower)
        case Reaching():
            return tuple(_reached(root, limb, upper, lower))


def _reached(
    root: Point, limb: Reaching, upper: float, lower: float
) -> Iterator[Point]:
    """Two circles meet in the joint; what is out of reach is pointed at."""
    across, up = limb.x - root[0], limb.y - root[1]
    wanted, direction = hypot(across, up), atan2(up, across)
    span = max(min(wanted, upper + lower - 0.01), abs(upper - lower) + 0.01)
    tip = root[0] + span * cos(direction), root[1] + span * sin(direction)
    along = (upper**2 - lower**2 + span**2) / (2 * span)
    beside = limb.bend * sqrt(max(upper**2 - along**2, 0.0))
    if limb.bend == 0:
        tip, along = (limb.x, limb.y), wanted / 2
    yield root
    yield (
        root[0] + along * cos(direction) - beside * sin(direction),
        root[1] + along * sin(direction) + beside * cos(direction),
    )
    yield tip
