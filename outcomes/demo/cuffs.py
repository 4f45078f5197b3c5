"""Blood-flow restriction in single invented cases: screens, lines, what ended them."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta

from programs import library
from programs.dosing.flow_questions import questions
from programs.dosing.flow_screen import Answer, Clearance
from programs.models import FlowScreen
from programs.safety import report_event, sign_flow_screen

from .beside import CuffPlan
from .blueprints import dose
from .plans import VisitPlan
from .treating import Treatment

PHYSICIAN = "Dr Orla Fennick (invented)"
SAID = "Blood pressure is treated and steady; light work under a cuff is possible."
EVENT = "Tingling in the foot under the cuff, gone within minutes after letting go."
DONE = "Cuff let down at once, sensation normal at the visit. No cuff until asked anew."
PERCENT, WEEKLY, PLATE_KG = 30, 2, 2.5
SAID_DAYS_BEFORE = 4


@dataclass(slots=True)
class Cuff:
    """The cuff of one case, from the screen to the end; for most there is none."""

    treatment: Treatment
    done: set[str] = field(default_factory=set)
    stopped_on: date = date.min

    @property
    def plan(self) -> CuffPlan:
        """What is planned; only where something is."""
        cuff = self.treatment.plan.beside.cuff
        assert cuff  # noqa: S101 (asked for after it was looked at)
        return cuff

    def after(self, visit: VisitPlan) -> None:
        """Do what is due at this visit, in the order of care."""
        if visit.attendance != "attended" or self.treatment.plan.beside.cuff is None:
            return
        plan, on = self.plan, visit.on
        steps = (
            ("screen", plan.screen_week, self._screen),
            ("cleared", plan.cleared_week, self._clear),
            ("line", plan.line_week, self._prescribe),
            ("event", plan.event_week, self._tell),
        )
        for name, week, act in steps:
            if week is not None and visit.week >= week and name not in self.done:
                self.done.add(name)
                act(on)

    def _screen(self, on: date) -> None:
        plan = self.plan
        is_stopped = bool(plan.cleared_week or plan.instead)
        self._sign(
            on,
            dict.fromkeys(plan.yes, Answer.YES),
            decision="" if is_stopped else plan.decision,
        )
        self.stopped_on = on
        if plan.instead:
            why = "No cuff: the screen rules it out. Strength without it."
            self.treatment.prescribe(dose(plan.instead, load="none"), on, why)

    def _clear(self, on: date) -> None:
        """Sign again after the physician's answer; a risk may be left."""
        answered_on = max(on - timedelta(days=SAID_DAYS_BEFORE), self.stopped_on)
        cleared: dict[str, Answer] = dict.fromkeys(self.plan.yes, Answer.CLEARED)
        self._sign(
            on,
            cleared | {"hypertension": Answer.YES},
            decision=self.plan.decision,
            clearance=Clearance(PHYSICIAN, SAID, answered_on, self.stopped_on),
        )

    def _sign(
        self,
        on: date,
        answers: dict[str, Answer],
        *,
        decision: str,
        clearance: Clearance | None = None,
    ) -> FlowScreen:
        asked = dict.fromkeys(questions().keys, Answer.NO) | answers
        return sign_flow_screen(
            episode=self.treatment.episode,
            by=self.treatment.by,
            on=on,
            answers={key: answer.value for key, answer in asked.items()},
            decision=decision,
            clearance=clearance,
        )

    def _prescribe(self, on: date) -> None:
        """Prescribe from the pressure that was measured that day on that limb."""
        plan = self.plan
        line = dose(
            plan.exercise,
            load_percent=PERCENT,
            one_rm_kg=plan.one_rm_kg,
            plate_step_kg=PLATE_KG,
            times_a_week=WEEKLY,
            occlusion_mmhg=plan.occlusion_mmhg,
            occlusion_side=self.treatment.episode.side,
            occlusion_measured_on=on,
            cuff_percent=plan.cuff_percent,
        )
        self.treatment.prescribe(line, on, "Strength with little load on the kneecap.")

    def _tell(self, on: date) -> None:
        """Report what happened in the session of the day before, and stop."""
        name = library.exercise(self.plan.exercise).name
        line = self.treatment.stop_beside(name, on, "Stopped: tingling under the cuff.")
        report_event(
            episode=self.treatment.episode,
            by=self.treatment.by,
            happened_on=on - timedelta(days=1),
            what=EVENT,
            done=DONE,
            is_during_flow_restriction=True,
            prescription=line,
        )
