"""The stories of the invented clinic: how a knee goes, and what the app should say.

Sizes follow the trials: AKPS about 70 at entry and about 7 better after 12 weeks
(Hansen 2023, doi:10.1136/bjsports-2022-106197), worst pain 5 to 7 at entry. Real
scores carry a measurement error of about 4.7 points; the stories carry far less, so
that each one is told clearly. All courses are constructed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import pairwise

PLANNED_WEEKS = 12
LOOK_WEEKS = (0, 3, 6, 9, 12, 18, 24, 30)
VISIT_WEEKS = (0, 1, 3, 4, 6, 7, 9, 10, 12, 14, 16, 18, 20, 22, 24, 26, 28, 30, 33)

Stop = tuple[float, float, float]  # week, gain in AKPS points, change of worst pain


@dataclass(frozen=True, slots=True, kw_only=True)
class Story:
    """How scores and worst pain move together from the first visit on."""

    key: str
    title: str
    stops: tuple[Stop, ...]
    noise: float = 1.0  # AKPS points, either way
    reach: float = 0.0  # how far a person's gain may differ, as a share
    baseline: tuple[float, float] = (69.0, 12.0)  # mean and SD of AKPS
    limits: tuple[int, int] = (42, 85)  # of the AKPS at entry
    worst_pain: tuple[int, int] = (5, 7)
    ages: tuple[int, int] = (18, 46)
    flare_weeks: tuple[int, ...] = ()
    looks_from_week: int = 0
    is_remeasured: bool = True
    comes_until_week: int | None = None

    def at(self, week: float) -> tuple[float, float]:
        """Return gain and change of worst pain at a week, between two stops."""
        for early, late in pairwise(self.stops):
            if week <= late[0]:
                share = (week - early[0]) / (late[0] - early[0])
                gain = early[1] + share * (late[1] - early[1])
                return gain, early[2] + share * (late[2] - early[2])
        return self.stops[-1][1], self.stops[-1][2]


STEADY = Story(
    key="steady",
    title="Steady responder",
    stops=((0, 0, 0), (3, 3.5, -1), (6, 7, -2), (9, 10, -3), (12, 12.8, -4),
           (18, 15, -4.5), (33, 16, -5)),
    reach=0.15,
    limits=(42, 82),
)  # fmt: skip
SLOW = Story(
    key="slow",
    title="Slow responder",
    stops=((0, 0, 0), (3, 2, 0), (6, 4.2, 0), (9, 6.5, -1), (12, 8.6, -1),
           (18, 12.5, -2), (33, 16, -3)),
    noise=0.3,
)  # fmt: skip
EARLY_FLAT = Story(
    key="early_flat",
    title="Early gain, then flat",
    stops=((0, 0, 0), (3, 6, -1), (6, 6.5, -1), (12, 6.2, -1), (33, 6, -1)),
    noise=0.3,
)
FLAT = Story(
    key="flat",
    title="Flat from the start",
    stops=((0, 0, 0), (3, 1, 0), (12, -0.5, 0), (33, -0.5, 0)),
    noise=0.6,
)
FLARE = Story(
    key="flare",
    title="Flare and recovery",
    stops=((0, 0, 0), (3, 4, -1), (4, 6, -2), (6, 4, 1), (7, 3, 1), (9, 6, -1),
           (12, 12, -3), (33, 15, -4)),
    noise=0.4,
    limits=(42, 82),
    flare_weeks=(6, 7),
)  # fmt: skip
WORSENING = Story(
    key="worsening",
    title="Worsening",
    stops=((0, 0, 0), (3, -3, 0), (6, -8, 1), (9, -15, 2), (12, -18, 3), (33, -20, 3)),
    limits=(60, 84),
    worst_pain=(4, 6),
)
ONE_LOW = Story(
    key="one_low",
    title="One low look",
    stops=((0, 0, 0), (3, 3, 0), (6, 5, -1), (8, 4, -1), (9, -12, 1), (33, -12, 1)),
    noise=0.6,
    limits=(60, 84),
)
NEVER = Story(
    key="never_remeasured",
    title="Never re-measured",
    stops=STEADY.stops,
    is_remeasured=False,
)
LOST = Story(
    key="lost",
    title="Lost to follow-up",
    stops=((0, 0, 0), (3, 3, -1), (33, 3, -1)),
    comes_until_week=4,
)
CEILING = Story(
    key="ceiling",
    title="Ceiling at entry",
    stops=((0, 0, 0), (12, 3, -2), (33, 4, -2)),
    noise=0.5,
    baseline=(93.0, 1.0),
    limits=(92, 95),
    worst_pain=(3, 4),
)
BILATERAL = Story(
    key="bilateral",
    title="Both knees",
    stops=STEADY.stops,
    reach=0.1,
    limits=(55, 78),
)
ADOLESCENT = Story(
    key="adolescent",
    title="Adolescent",
    stops=STEADY.stops,
    reach=0.1,
    limits=(52, 78),
    ages=(12, 17),
)
LATE_BASELINE = Story(
    key="late_baseline",
    title="Baseline came late",
    stops=STEADY.stops,
    looks_from_week=3,
)
AGAIN = Story(
    key="again",
    title="The same knee again",
    stops=STEADY.stops,
    reach=0.1,
    limits=(55, 78),
)


class Twist(StrEnum):
    """What happens to a single case besides its story."""

    UNDECIDED = "a positive red-flag answer that nobody decided on"
    DECIDED = "a positive red-flag answer, decided"
    HIP = "a positive hip answer at the opening, decided"
    RESTS = "reviewed last week, look again later"
    LOOK_AGAIN = "reviewed, and the day to look again has passed"
    DISAGREES = "the scores are flat and the patient feels clearly better"
    KOOS_PF = "the primary measure is KOOS-PF"
    LEFS = "the primary measure is LEFS"
    PSFS = "the primary measure is PSFS"
    INCOMPLETE = "a re-measure with an empty item, so without a score"


PRIMARY = {Twist.KOOS_PF: "koos_pf", Twist.LEFS: "lefs", Twist.PSFS: "psfs"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Chapter:
    """Some cases of one story, in care since some weeks or discharged after them.

    `tells` is the key of a finding that must hold on the day of the demo; an empty
    one means that nothing asks for a review. `twists` adds something to one case.
    """

    story: Story
    count: int
    weeks: tuple[float, float]
    tells: str = ""
    reason: str = ""  # of the discharge; empty while in care
    twists: Mapping[int, Twist] = field(default_factory=dict)

    def weeks_of(self, case: int) -> float:
        """Return the weeks in care of one case; the cases are evenly spread."""
        low, high = self.weeks
        return low + (high - low) * (case + 0.5) / self.count


def _ended(story: Story, count: int, weeks: tuple[int, int], reason: str) -> Chapter:
    return Chapter(story=story, count=count, weeks=weeks, reason=reason)


IN_CARE = (
    Chapter(story=STEADY, count=7, weeks=(0.3, 2.5)),
    Chapter(
        story=STEADY,
        count=17,
        weeks=(3.2, 15),
        twists={
            1: Twist.DECIDED,
            3: Twist.KOOS_PF,
            5: Twist.UNDECIDED,
            7: Twist.LEFS,
            10: Twist.PSFS,
            14: Twist.KOOS_PF,
        },
    ),
    Chapter(story=SLOW, count=5, weeks=(3.2, 11.5)),
    Chapter(
        story=SLOW,
        count=6,
        weeks=(12.4, 15.5),
        tells="target_not_reached",
        twists={2: Twist.UNDECIDED},
    ),
    Chapter(
        story=EARLY_FLAT,
        count=9,
        weeks=(9.4, 16),
        tells="no_measurable_progress",
        twists={
            1: Twist.DECIDED,
            3: Twist.DISAGREES,
            5: Twist.DISAGREES,
            6: Twist.RESTS,
            7: Twist.RESTS,
            8: Twist.LOOK_AGAIN,
        },
    ),
    Chapter(
        story=FLAT,
        count=5,
        weeks=(9.4, 20),
        tells="no_measurable_progress",
        twists={2: Twist.RESTS, 4: Twist.LOOK_AGAIN},
    ),
    Chapter(story=FLARE, count=4, weeks=(7.3, 8.6), tells="pain_above_limit"),
    Chapter(story=FLARE, count=4, weeks=(12.4, 16)),
    Chapter(story=WORSENING, count=4, weeks=(12.4, 14.5), tells="worsening"),
    Chapter(story=ONE_LOW, count=2, weeks=(9.4, 11), tells="one_low_look"),
    Chapter(
        story=NEVER,
        count=6,
        weeks=(4.4, 11),
        tells="remeasure_overdue",
        twists={3: Twist.INCOMPLETE, 5: Twist.INCOMPLETE},
    ),
    Chapter(story=LOST, count=6, weeks=(9, 14), tells="not_seen"),
    Chapter(story=CEILING, count=4, weeks=(3.2, 13)),
    Chapter(story=BILATERAL, count=3, weeks=(4, 12)),
    Chapter(story=ADOLESCENT, count=6, weeks=(3.2, 13), twists={2: Twist.HIP}),
    Chapter(story=LATE_BASELINE, count=2, weeks=(4, 8), tells="baseline_missing"),
    Chapter(story=AGAIN, count=3, weeks=(3.2, 9)),
)
ENDED = (
    _ended(STEADY, 20, (12, 19), "goals met"),
    _ended(SLOW, 6, (18, 25), "goals met"),
    _ended(SLOW, 3, (9, 13), "moved away"),
    _ended(EARLY_FLAT, 8, (14, 25), "no further benefit"),
    _ended(FLAT, 3, (12, 19), "referred on"),
    _ended(FLARE, 4, (14, 19), "goals met"),
    _ended(WORSENING, 2, (10, 13), "referred on"),
    _ended(LOST, 3, (9, 12), "stopped attending"),
    _ended(ADOLESCENT, 2, (12, 15), "goals met"),
    _ended(CEILING, 1, (6, 7), "other"),
)
