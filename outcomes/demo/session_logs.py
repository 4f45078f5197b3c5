"""What an invented patient tells of each line at a visit: done, sets, pain."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from random import Random

from programs.adherence import planned_sessions, prescribed_sets
from programs.library_entries import Exercise
from programs.lines import line_of
from programs.models import Prescription
from programs.suggesting import is_trained

from ..recording import SessionEntry
from .plans import VisitPlan
from .programmes import Track

TOO_MUCH = 6  # above the agreed limit of 5
THIGH_AND_MORE = ("quadriceps", "landing", "running")
MILDER_BY = 2  # points that work away from the kneecap hurts less


@dataclass(frozen=True, slots=True, kw_only=True)
class Telling:
    """How one person tells of the sessions since the visit before."""

    track: Track
    rng: Random
    since: date  # of the visit before
    is_sore: bool

    def told(self, line: Prescription, visit: VisitPlan) -> SessionEntry | None:
        """Return what is told of a line; None where nothing is counted in it."""
        said = line_of(line)
        if not is_trained(said):
            return None
        begun = max(self.since, line.starts_on or self.since)
        planned = planned_sessions(line, from_on=begun, until_on=visit.on) or 0
        sets = prescribed_sets(line)
        is_too_much = self.is_sore and self._is_of_the_thigh(line)
        is_stopped = is_too_much and bool(sets) and self.rng.random() < 0.4
        is_short = is_stopped or self.rng.random() > self.track.done + 0.1
        return SessionEntry(
            prescription=line,
            sessions_done=self._sessions(planned),
            sets_done=sets - 1 if sets and sets > 1 and is_short else sets,
            repetitions_over=self._over(line) if not is_too_much else 0,
            pain_during=self._pain(line, visit, is_too_much=is_too_much),
            is_stopped_by_pain=is_stopped,
        )

    def _sessions(self, planned: int) -> int:
        """Return about the share that this story does, at least one."""
        near = planned * self.track.done + self.rng.uniform(-0.6, 0.6)
        return max(min(round(near), planned), 1)

    def _over(self, line: Prescription) -> int | None:
        """Return repetitions over the target; holds and minutes have none."""
        if not (line.repetitions or line.scheme):
            return None
        is_beaten = self.rng.random() < self.track.over
        return self.rng.choice((1, 1, 2)) if is_beaten else 0

    def _pain(
        self, line: Prescription, visit: VisitPlan, *, is_too_much: bool
    ) -> int | None:
        whole = visit.pain_during
        if is_too_much:
            return TOO_MUCH + self.rng.randint(0, 1)
        if whole is None or self._is_of_the_thigh(line):
            return whole
        return max(whole - MILDER_BY, 0)

    def _is_of_the_thigh(self, line: Prescription) -> bool:
        entry = line_of(line).entry
        target = entry.target if isinstance(entry, Exercise) else "quadriceps"
        return target in THIGH_AND_MORE
