"""Beside the exercises of an invented case: tape, orthoses, own entries, other care."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import timedelta

from programs import library
from programs.lines import Line
from programs.models import Prescription
from programs.safety import record_other_care

from .beside import Adjunct, CarePlan
from .plans import VisitPlan
from .treating import Treatment

OWN_FROM_WEEK = 3


@dataclass(slots=True)
class Companions:
    """What accompanies the programme; each thing begins once."""

    treatment: Treatment
    begun: set[object] = field(default_factory=set)

    def after(self, visit: VisitPlan) -> None:
        """Do what is due at this visit."""
        if visit.attendance != "attended":
            return
        beside = self.treatment.plan.beside
        for care in beside.care:
            self._note(care, visit)
        for adjunct in beside.adjuncts:
            self._support(adjunct, visit)
        if beside.own:
            self._add_own(beside.own, visit)

    def _is_first(self, what: object, visit: VisitPlan, from_week: int) -> bool:
        """Tell whether something is due that has not begun, and note that it has."""
        is_due = visit.week >= from_week and what not in self.begun
        if is_due:
            self.begun.add(what)
        return is_due

    def _note(self, care: CarePlan, visit: VisitPlan) -> None:
        if not self._is_first(care, visit, care.from_week):
            return
        began_on = visit.on - timedelta(days=care.days_before)
        lasted = timedelta(days=care.lasted_days or 0)
        record_other_care(
            episode=self.treatment.episode,
            by=self.treatment.by,
            what=care.what,
            began_on=began_on,
            words=care.words,
            ended_on=began_on + lasted if lasted else None,
        )

    def _support(self, adjunct: Adjunct, visit: VisitPlan) -> None:
        """Begin or end tape or orthoses."""
        if self._is_first(adjunct, visit, adjunct.from_week):
            line = Line(exercise=adjunct.exercise, load=Prescription.Load.NONE)
            self.treatment.prescribe(line, visit.on)
        name = library.exercise(adjunct.exercise).name
        is_over = adjunct.stop_week is not None and visit.week >= adjunct.stop_week
        if is_over and name in self.treatment.beside:
            self.treatment.stop_beside(name, visit.on, adjunct.why_stopped)

    def _add_own(self, name: str, visit: VisitPlan) -> None:
        """Prescribe an exercise of the clinic's own, in the last phase of the story."""
        from_week = max((*self.treatment.plan.track.phases, OWN_FROM_WEEK))
        if not self._is_first(name, visit, from_week):
            return
        entry = self.treatment.shelf.own[name]
        line = Line(clinic_exercise=entry, sets=3, repetitions=10, times_a_week=3)
        self.treatment.prescribe(line, visit.on)
