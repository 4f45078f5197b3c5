"""Invented physical tests that fit a story: strength, step-downs, hop, runs.

All numbers are constructed: no source gives values for this condition. The random
numbers are the episode's own, so that everything else of the demo stays as it is.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from random import Random
from zlib import crc32

from ..physical_recording import PhysicalEntry, SideEntry
from ..science.physical_tests import NEWTONS_PER_KG, Trial
from .plans import EpisodePlan, VisitPlan
from .stories import ENDED, IN_CARE, LOOK_WEEKS

STORIES = {chapter.story.key: chapter.story for chapter in (*IN_CARE, *ENDED)}
SHARE = 0.35  # of the episodes are tested at all
RUNNERS = ("Running", "Orienteering", "Football", "Handball")
HOP_FROM_WEEK, HOP_MAX_PAIN = 9, 3  # the last stage only
SETUPS = {
    "hip_abductor": "Side-lying, pad above the outer ankle, strap.",
    "knee_extensor": "Sitting, knee bent 60°, pad above the ankle, strap.",
    "step_down": "Step of 20 cm.",
    "single_leg_squat": "To 60°, one hand on the rail.",
    "single_leg_hop": "Hands on the hips.",
    "running_volume": "From the watch.",
}


@dataclass(frozen=True, slots=True)
class Body:
    """What one invented person brings along; forces in N, lengths in m and cm."""

    kg: float
    hip_n: float
    knee_n: float
    hip_arm_m: float
    knee_arm_m: float
    steps: int
    hop_cm: int
    deficit: float  # of the index side at entry, as a share
    unit: str  # what the clinic's device shows for this person


def physical_tests_of(plan: EpisodePlan, *, seed: str) -> Iterator[PhysicalEntry]:
    """Yield the tests of one episode, oldest first; for most people none.

    `seed` is the person's own, so that a second episode finds the same body.
    """
    rng = Random(crc32(seed.encode()))  # noqa: S311 - invented people
    if plan.is_bilateral or rng.random() > SHARE:
        return
    body = _body(rng)
    for visit in plan.visits:
        if visit.attendance == "attended" and visit.week in LOOK_WEEKS[::2]:
            yield from _at_visit(plan, visit, body, rng)


def _body(rng: Random) -> Body:
    return Body(
        kg=float(rng.randint(56, 88)),
        hip_n=rng.uniform(130, 220),
        knee_n=rng.uniform(320, 520),
        hip_arm_m=rng.randint(76, 88) / 100,
        knee_arm_m=rng.randint(30, 37) / 100,
        steps=rng.randint(17, 24),
        hop_cm=rng.randint(105, 165),
        deficit=rng.uniform(0.12, 0.26),
        unit=rng.choice(("N", "N", "kg")),
    )


def _at_visit(
    plan: EpisodePlan, visit: VisitPlan, body: Body, rng: Random
) -> Iterator[PhysicalEntry]:
    """Yield what a clinician would test that day."""
    pain = visit.pain["worst"]
    is_irritable = plan.facts.irritability == "high" and visit.week < 6
    test = _Tester(plan, visit, body, rng)
    yield test.strength("hip_abductor", body.hip_n, body.hip_arm_m)
    yield test.strength("knee_extensor", body.knee_n, body.knee_arm_m)
    if not is_irritable and visit.next_morning != "flare":
        yield test.counted("step_down", body.steps)
        yield test.squat_pain(pain)
    if visit.week >= HOP_FROM_WEEK and pain <= HOP_MAX_PAIN:
        yield test.hop()
    if plan.facts.sport in RUNNERS:
        yield test.runs()


@dataclass(frozen=True, slots=True)
class _Tester:
    """One visit's tests; the index side catches up as the story's scores do."""

    plan: EpisodePlan
    visit: VisitPlan
    body: Body
    rng: Random

    @property
    def ratio(self) -> float:
        """Index side over other side: a gain of 16 AKPS points closes the gap."""
        gain, _ = STORIES[self.plan.story].at(self.visit.week)
        left = self.body.deficit * (1 - 0.85 * min(max(gain, -8), 16) / 16)
        return 1 - left

    def strength(self, test: str, newtons: float, arm_m: float) -> PhysicalEntry:
        """Return three pushes of both sides, in what the device shows."""
        grown = newtons * (1 + 0.004 * self.visit.week)
        per_unit, decimals = (NEWTONS_PER_KG, 1) if self.body.unit == "kg" else (1, 0)
        sides = tuple(
            SideEntry(
                side=side,
                trials=tuple(
                    Trial(round(grown * share * self._near() / per_unit, decimals))
                    for _ in range(3)
                ),
                lever_arm_m=arm_m,
                pain=self._pain(share),
            )
            for side, share in self._shares()
        )
        return self._entry(test, self.body.unit, sides, body_kg=self.body.kg)

    def counted(self, test: str, count: int) -> PhysicalEntry:
        """Return one count of both sides."""
        sides = tuple(
            SideEntry(
                side=side,
                trials=(Trial(float(round(count * share * self._near()))),),
                pain=self._pain(share),
            )
            for side, share in self._shares()
        )
        return self._entry(test, "repetitions", sides)

    def squat_pain(self, worst: int) -> PhysicalEntry:
        """Return pain on squats: the index side near the week's worst."""
        other = "right" if self.plan.side == "left" else "left"
        pain = {self.plan.side: max(worst - self.rng.randint(0, 2), 0), other: 0}
        sides = tuple(
            SideEntry(side=side, trials=(Trial(float(pain[side])),))
            for side in ("left", "right")
        )
        return self._entry("single_leg_squat", "points", sides)

    def hop(self) -> PhysicalEntry:
        """Return three hops of both sides."""
        sides = tuple(
            SideEntry(
                side=side,
                trials=tuple(
                    Trial(float(round(self.body.hop_cm * share * self._near())))
                    for _ in range(3)
                ),
                pain=self._pain(share),
            )
            for side, share in self._shares()
        )
        return self._entry("single_leg_hop", "cm", sides)

    def runs(self) -> PhysicalEntry:
        """Return the week's distance, more as the knee gets better."""
        gain, _ = STORIES[self.plan.story].at(self.visit.week)
        km = max(round(6 + 1.4 * gain + self.rng.uniform(-2, 2)), 0)
        whole = SideEntry(side="", trials=(Trial(float(km)),))
        return self._entry("running_volume", "km a week", (whole,))

    def _shares(self) -> tuple[tuple[str, float], ...]:
        return tuple(
            (side, self.ratio if side == self.plan.side else 1.0)
            for side in ("left", "right")
        )

    def _near(self) -> float:
        return self.rng.uniform(0.97, 1.03)

    def _pain(self, share: float) -> int:
        """Return pain during a test: none in the other leg."""
        return 0 if share == 1 else max(self.visit.pain["worst"] - 3, 0)

    def _entry(
        self,
        test: str,
        unit: str,
        sides: tuple[SideEntry, ...],
        *,
        body_kg: float | None = None,
    ) -> PhysicalEntry:
        return PhysicalEntry(
            test=test,
            tested_on=self.visit.on,
            unit=unit,
            sides=sides,
            body_kg=body_kg,
            done_how=SETUPS[test],
        )
