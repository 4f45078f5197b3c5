"""What an entry of the exercise library holds: facts, each with its source."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum, StrEnum

STRENGTHS = (
    "guideline grade A",
    "guideline grade B",
    "guideline grade C",
    "guideline grade F",
    "consensus: appropriate",
    "consensus: uncertain",
    "systematic review",
    "randomised trial",
    "cohort study",
    "position stand",
    "laboratory study",
    "patient page",
    "common practice, no source",
)
IRRITABILITY = ("high", "moderate", "low")
TARGETS = (
    "hip abductors",
    "hip extensors",
    "quadriceps",
    "foot",
    "calf",
    "trunk",
    "landing",
    "running",
    "kneecap",
    "understanding",
)
EQUIPMENT = (
    "band",
    "barbell",
    "bench",
    "chair",
    "cuff",
    "dumbbell",
    "foot orthoses",
    "knee extension machine",
    "leg press machine",
    "mat",
    "metronome",
    "rail",
    "step",
    "tape",
    "towel",
    "wall",
)


# Peak joint force over body weight (project assumption): walking falls below the
# first bound, stairs and squats between the first two, running and lunges below the
# third, hops and heavy squats above it.
LOW_UP_TO = 2.0
MODERATE_UP_TO = 4.0
HIGH_UP_TO = 6.0


class Kind(StrEnum):
    """What sort of care an entry is; the first two come in ladders."""

    EXERCISE = "exercise"
    RUNNING = "running"
    ADJUNCT = "adjunct"
    EDUCATION = "education"

    @property
    def is_laddered(self) -> bool:
        return self in (Kind.EXERCISE, Kind.RUNNING)


class Tier(IntEnum):
    """Patellofemoral load, by peak force over body weight (project assumption).

    The figures come from models of healthy knees: they put entries in order and are
    no safety limits.
    """

    LOW = 1
    MODERATE = 2
    HIGH = 3
    VERY_HIGH = 4

    @property
    def label(self) -> str:
        return self.name.lower().replace("_", " ")

    @classmethod
    def of_peak(cls, times_body_weight: float) -> Tier:
        """The tier of a peak joint force given as a multiple of body weight."""
        bounds = (LOW_UP_TO, MODERATE_UP_TO, HIGH_UP_TO)
        return cls(1 + sum(times_body_weight > bound for bound in bounds))


class TierMeasure(StrEnum):
    """What a tier rests on: peak and index rank tasks differently (Song 2023)."""

    PEAK = "peak"  # peak joint reaction force
    INDEX = "index"  # peak and cumulative load together
    ANGLE = "angle"  # order of joint stress by knee angle; the tier is judged from it
    JUDGED = "judged"  # ordered by range, load and support; nothing measured


@dataclass(frozen=True, slots=True)
class Reference:
    """Where a statement comes from; how far it was read stands with the statement."""

    key: str
    short: str
    citation: str
    doi: str | None


@dataclass(frozen=True, slots=True)
class Evidence:
    """One statement in our own words, its strength, and how far it was checked."""

    key: str
    statement: str
    strength: str
    source: Reference
    mark: str


@dataclass(frozen=True, slots=True)
class Load:
    """The patellofemoral load tier and what it rests on."""

    key: str
    tier: Tier
    measure: TierMeasure
    source: Reference
    mark: str
    note: str
    times_body_weight: float | None  # where a peak was measured

    @property
    def basis(self) -> str:
        """The basis in words, for instance 'peak force, Hart 2022'."""
        if self.measure is TierMeasure.JUDGED:
            return "judged; common practice, no source"
        kinds = {
            TierMeasure.PEAK: "peak force",
            TierMeasure.INDEX: "peak and cumulative load",
            TierMeasure.ANGLE: "judged from stress by knee angle",
        }
        return f"{kinds[self.measure]}, {self.source.short}"


@dataclass(frozen=True, slots=True)
class Dose:
    """The dose an entry starts from; pairs are lowest and highest.

    `scheme` lists repetitions set by set and then stands in place of `reps`.
    """

    key: str
    sets: int | None
    reps: tuple[int, int] | None
    scheme: tuple[int, ...]
    hold_seconds: tuple[int, int] | None
    minutes: tuple[int, int] | None
    rest_seconds: tuple[int, int] | None
    per_week: tuple[int, int]
    tempo: str
    source: Reference
    mark: str
    note: str


@dataclass(frozen=True, slots=True)
class TimeLimit:
    """How many weeks guidance supports before a review is due."""

    weeks: int
    source: Reference
    mark: str


@dataclass(frozen=True, slots=True)
class Exercise:
    """One entry; exercises and running stages stand on a rung of a ladder.

    Weight-bearing means that the patient stands on the leg. The knee range is in
    degrees of flexion, lowest and highest; none where the knee has no set range.
    """

    key: str
    name: str
    kind: Kind
    target: str
    group: str
    ladder: str | None
    rung: int | None
    is_weight_bearing: bool
    is_bfr: bool
    knee_range: tuple[int, int] | None
    load: Load | None
    equipment: tuple[str, ...]
    how: tuple[str, ...]
    cautions: tuple[str, ...]
    evidence: tuple[Evidence, ...]
    irritability: tuple[str, ...]
    dose: Dose | None
    time_limit: TimeLimit | None
    leads_to: tuple[str, ...]
    lower_load_reason: str
    drawing: str | None

    @property
    def time_limit_weeks(self) -> int | None:
        return self.time_limit.weeks if self.time_limit else None

    @property
    def needs_bfr_screen(self) -> bool:
        """True where the blood-flow restriction screen must be signed first."""
        return self.is_bfr


@dataclass(frozen=True, slots=True)
class Group:
    """One file of the library: a ladder in order, or entries without an order."""

    key: str
    name: str
    kind: Kind
    target: str
    order_note: str
    entries: tuple[Exercise, ...]
