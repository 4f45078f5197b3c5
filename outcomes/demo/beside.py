"""What stands beside the exercises of single invented cases: tape, cuffs, other care.

All of it is made up. A case is named by its story, whether it is in care, and its
place among those, the longest in care first.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from programs.models import OtherCare

NOT_NEEDED = "Guidance ends here; no longer needed on stairs."
SHOES_DO = "Six weeks nearly over: ordinary shoes are fine again."
What = OtherCare.What


@dataclass(frozen=True, slots=True, kw_only=True)
class Adjunct:
    """Tape or orthoses from a week on; without a last week they run on."""

    exercise: str
    from_week: int
    stop_week: int | None = None
    why_stopped: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CarePlan:
    """Other care, told at the first visit from a week on, begun days before it."""

    what: str
    from_week: int
    days_before: int
    words: str
    lasted_days: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CuffPlan:
    """A flow-restriction screen at a week; the line comes at a later visit, if any.

    `yes` names the questions answered with yes. A `cleared_week` brings a second screen
    with a physician's answer; at an `event_week` something is told that ends it all;
    `instead` is prescribed where the screen says no.
    """

    screen_week: int
    exercise: str = "bfr_knee_extension"
    line_week: int | None = None
    yes: tuple[str, ...] = ()
    decision: str = ""
    occlusion_mmhg: int = 190
    cuff_percent: int = 60
    one_rm_kg: float = 42.5
    event_week: int | None = None
    cleared_week: int | None = None
    instead: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """Everything beside the template of one case; `own` names a clinic's own entry."""

    adjuncts: tuple[Adjunct, ...] = ()
    care: tuple[CarePlan, ...] = ()
    cuff: CuffPlan | None = None
    own: str = ""

    @property
    def is_empty(self) -> bool:
        """Whether nothing is beside the exercises."""
        return not (self.adjuncts or self.care or self.cuff or self.own)


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnEntry:
    """An exercise that the clinic added to the library itself."""

    name: str
    target: str
    equipment: str
    how: str
    cautions: str
    source: str = "Common practice of this invented clinic."


TAPE = Adjunct(
    exercise="taping_tailored", from_week=1, stop_week=4, why_stopped=NOT_NEEDED
)
TAPE_ON_AND_ON = Adjunct(exercise="taping_tailored", from_week=6)
SELF_TAPE_ON_AND_ON = Adjunct(exercise="taping_self", from_week=6)
ORTHOSES = Adjunct(
    exercise="orthoses_prefabricated",
    from_week=1,
    stop_week=6,
    why_stopped=SHOES_DO,
)
ORTHOSES_ON_AND_ON = Adjunct(exercise="orthoses_prefabricated", from_week=4)

PAUSED, CUSHIONED = "Wall slide with a pause", "Step-over with a cushion"
OWN_ENTRIES = (
    OwnEntry(
        name=PAUSED,
        target="quadriceps",
        equipment="wall",
        how="Back to the wall, slide down a hand's breadth, wait three breaths, "
        "slide up.",
        cautions="Only as deep as the pain rule allows.",
    ),
    OwnEntry(
        name=CUSHIONED,
        target="landing",
        equipment="cushion, rail",
        how="Step over a cushion on the floor, forwards and back, one hand on the "
        "rail.",
        cautions="The cushion must not slip.",
    ),
)
RETIRED = (CUSHIONED,)

HILLS = CarePlan(
    what=What.TRAINING,
    from_week=6,
    days_before=3,
    words="Two days in the hills, three times the usual distance.",
)
INJECTION = CarePlan(
    what=What.INJECTION,
    from_week=3,
    days_before=12,
    words="Cortisone into the knee, in another practice.",
)
MEDICINE = CarePlan(
    what=What.MEDICINE,
    from_week=6,
    days_before=5,
    words="Family doctor changed the pain medicine.",
)
ILLNESS = CarePlan(
    what=What.ILLNESS,
    from_week=6,
    days_before=9,
    lasted_days=6,
    words="A feverish cold, a week without exercise.",
)
MASSAGE = CarePlan(
    what=What.TREATMENT,
    from_week=4,
    days_before=10,
    words="Massage of the thigh every week, arranged by the patient.",
)
SEASON = CarePlan(
    what=What.TRAINING,
    from_week=4,
    days_before=6,
    words="Season began: from two to four sessions a week.",
)

_CARE = (
    # (story, in care, place, what)
    ("flare", True, 0, Beside(care=(HILLS,))),
    ("flare", True, 4, Beside(care=(HILLS,))),
    ("flare", True, 5, Beside(care=(HILLS,))),
    ("early_flat", True, 3, Beside(care=(INJECTION,))),
    ("early_flat", False, 0, Beside(care=(INJECTION,))),
    ("worsening", True, 0, Beside(care=(MEDICINE,))),
    ("steady", True, 4, Beside(care=(ILLNESS,))),
    ("slow", True, 5, Beside(care=(MASSAGE,))),
    ("adolescent", True, 1, Beside(care=(SEASON,))),
)
_ADJUNCTS = (
    ("flat", True, 1, Beside(adjuncts=(TAPE_ON_AND_ON,))),
    ("early_flat", True, 4, Beside(adjuncts=(SELF_TAPE_ON_AND_ON,))),
    ("slow", True, 4, Beside(adjuncts=(ORTHOSES_ON_AND_ON,))),
    ("flat", True, 2, Beside(adjuncts=(ORTHOSES,), own=PAUSED)),
)
_OWN = (
    ("steady", True, 6, Beside(own=PAUSED)),
    ("slow", True, 6, Beside(own=PAUSED)),
    ("steady", True, 5, Beside(own=CUSHIONED)),
    ("steady", False, 3, Beside(own=PAUSED)),
    ("steady", False, 5, Beside(own=CUSHIONED)),
)
_CUFFS = (
    (
        "slow",
        True,
        0,
        CuffPlan(screen_week=6, line_week=7, occlusion_mmhg=186, cuff_percent=60),
    ),
    (
        "slow",
        True,
        1,
        CuffPlan(
            screen_week=6,
            line_week=7,
            yes=("smoking",),
            decision="Five cigarettes a day, no other risk. Told the signs of a clot; "
            "begins at the lower end of pressure.",
            occlusion_mmhg=204,
            cuff_percent=50,
            one_rm_kg=35,
        ),
    ),
    (
        "slow",
        True,
        2,
        CuffPlan(
            screen_week=7,
            exercise="bfr_leg_press",
            line_week=7,
            occlusion_mmhg=178,
            one_rm_kg=90,
        ),
    ),
    # Signed early and used late: it ran out under a line that runs on.
    ("flat", True, 0, CuffPlan(screen_week=3, line_week=7, occlusion_mmhg=172)),
    (
        "early_flat",
        True,
        0,
        CuffPlan(screen_week=6, line_week=7, occlusion_mmhg=196, event_week=10),
    ),
    (
        "early_flat",
        True,
        5,
        CuffPlan(screen_week=7, yes=("clot",), instead="knee_extension_hold"),
    ),
    (
        "slow",
        False,
        0,
        CuffPlan(
            screen_week=6,
            yes=("very_high_blood_pressure",),
            cleared_week=9,
            line_week=9,
            decision="Cleared and treated since; pressure is taken before each "
            "session.",
            occlusion_mmhg=210,
            cuff_percent=50,
        ),
    ),
)


def _by_case() -> dict[tuple[str, bool, int], Beside]:
    found = {(s, o, place): beside for s, o, place, beside in (*_CARE, *_ADJUNCTS)}
    found |= {(s, o, place): beside for s, o, place, beside in _OWN}
    return found | {(s, o, at): Beside(cuff=cuff) for s, o, at, cuff in _CUFFS}


BESIDE: Mapping[tuple[str, bool, int], Beside] = MappingProxyType(_by_case())
