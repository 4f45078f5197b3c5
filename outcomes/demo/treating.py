"""Gives one invented case its programme, visit by visit, through the same acts."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from random import Random
from typing import Any

from clinic.models import Episode, User
from programs import library
from programs.answering import accept_step, decline_step, keep_edited
from programs.dosing.response_rules import Kind
from programs.lines import Line, line_of
from programs.models import Phase, Prescription, Programme
from programs.next_steps import read_advice
from programs.planning import change_phase, end_programme, lines_of
from programs.prescribing import change_prescription, prescribe, stop_prescription
from programs.proposals import moved
from programs.suggesting import NextStep, is_trained

from ..recording import SessionEntry
from .plans import VisitPlan
from .programmes import ProgrammePlan
from .session_logs import Telling
from .shelf import Shelf

CALM_PAIN = 2  # the easy zone of the default policy
EASED_AT_ONCE = 2  # lines of one visit that are eased off
MOST_EASED = 2  # visits at which soreness that stays is answered by less
GIVE_IT_TIME = timedelta(days=21)
NOT_NOW = (
    "Wants to stay at this dose until the move is over.",
    "Sure of the movement first, then more.",
    "Scores are flat: first the question why.",
)
LET_IT_WORK = "Eased off already: wait how that works."
GENTLER = "Every other day at first."
BY_HAND = "Calm for weeks; the next rung is tried."


@dataclass(slots=True, kw_only=True)
class Treatment:
    """One case in treatment; `lines` are those in force, newest last."""

    episode: Episode
    by: User
    plan: ProgrammePlan
    shelf: Shelf
    earlier: Programme | None = None
    programme: Programme | None = None
    phases: list[Phase] = field(default_factory=list)
    at: int = 0  # the place of the running phase
    lines: list[Prescription] = field(default_factory=list)
    beside: dict[str, Prescription] = field(default_factory=dict)
    since: date = date.min
    eased: list[date] = field(default_factory=list)
    rng: Random = field(init=False)

    def __post_init__(self) -> None:
        """Take the random numbers of the case."""
        self.rng = self.plan.rng

    # At a visit

    def logs(self, visit: VisitPlan) -> tuple[SessionEntry, ...]:
        """Return what is told of the lines in force since the visit before."""
        if visit.attendance != "attended" or self.programme is None:
            return ()
        telling = Telling(
            track=self.plan.track,
            rng=self.rng,
            since=self.since,
            is_sore=self._is_sore(visit),
        )
        told = (telling.told(line, visit) for line in self.lines)
        return tuple(entry for entry in told if entry)

    def after(self, visit: VisitPlan) -> None:
        """Plan on, once the visit is kept."""
        if visit.attendance != "attended":
            return
        if self.programme is None:
            self._begin(visit.on)
        if visit.week and not self._is_left_open(visit):
            self._go_on(visit)
        self.since = visit.on

    def end(self, on: date, why: str) -> None:
        """End the programme with the case."""
        if self.programme:
            version = self.programme.version
            end_programme(self.programme, by=self.by, on=on, why=why, version=version)

    def _is_sore(self, visit: VisitPlan) -> bool:
        from_week = self.plan.track.sore_from
        is_last = self.plan.is_sore_at_last and visit.on == self.plan.last_on
        return is_last or (from_week is not None and visit.week >= from_week)

    def _is_left_open(self, visit: VisitPlan) -> bool:
        """Tell whether what is suggested is left for the reader to answer."""
        return self.plan.is_open and visit.on == self.plan.last_on

    # The programme

    def _begin(self, on: date) -> None:
        self.programme = self.shelf.begin(
            self.plan.blueprint,
            episode=self.episode,
            by=self.by,
            on=on,
            earlier=self.earlier if self.plan.is_copied_from_earlier else None,
        )
        self.phases = list(self.programme.phases.order_by("number"))
        self.lines = self._begun(self.phases[0])

    def _begun(self, phase: Phase) -> list[Prescription]:
        lines = lines_of(phase.programme).filter(phase=phase, starts_on__isnull=False)
        return list(lines.select_related("phase__programme", "clinic_exercise"))

    def _go_on(self, visit: VisitPlan) -> None:
        """Do the one thing that this visit is for."""
        track = self.plan.track
        phase_weeks = track.phases[: len(self.phases) - 1]
        if visit.next_morning == "flare" or self._is_sore(visit):
            self._ease(visit.on, is_flare=visit.next_morning == "flare")
        elif self.at < len(phase_weeks) and visit.week >= phase_weeks[self.at]:
            self._next_phase(visit.on)
        elif visit.week in track.goes_up:
            self._go_up(visit)
        elif visit.week in track.keeps and self.plan.is_open:
            self._keep(visit.on)

    def _next_phase(self, on: date) -> None:
        """Begin the lines that waited; those of the phase before end."""
        before, phase = self.phases[self.at : self.at + 2]
        self.at += 1
        self._change_phase(phase, on, starts_on=on)
        stays = set(self.beside.values())
        for line in [line for line in self.lines if line not in stays]:
            self._stop(line, on, f"Next phase: {phase.title}.")
        self._close(before, on)
        self.lines += self._begun(phase)

    def _change_phase(self, phase: Phase, on: date, **changes: Any) -> None:
        version = phase.programme.version  # one programme, shared by its phases
        change_phase(phase, by=self.by, on=on, version=version, **changes)

    def _close(self, phase: Phase, on: date) -> None:
        """End a phase that is over once nothing runs in it."""
        is_over = phase.pk != self.phases[self.at].pk and phase.ends_on is None
        if is_over and not any(line.phase_id == phase.pk for line in self.lines):
            self._change_phase(phase, on, ends_on=on)

    def prescribe(self, line: Line, on: date, why: str = "") -> Prescription:
        """Put a line beside the template's; it outlives the phase."""
        phase = self.phases[self.at]
        made = prescribe(phase, by=self.by, line=line, on=on, why=why)
        self.lines.append(made)
        self.beside[line.name] = made
        return made

    def stop_beside(self, name: str, on: date, why: str) -> Prescription:
        """End what was prescribed beside the template."""
        line = self.beside.pop(name)
        self._stop(line, on, why)
        self._close(next(p for p in self.phases if p.pk == line.phase_id), on)
        return line

    def _stop(self, line: Prescription, on: date, why: str) -> None:
        stop_prescription(line, by=self.by, on=on, why=why)
        self.lines.remove(line)

    def _replace(self, old: Prescription, made: Prescription | None) -> None:
        """Take the new line for the old one."""
        if made is None:
            return
        self.lines[self.lines.index(old)] = made
        for name, line in self.beside.items():
            self.beside[name] = made if line == old else line

    # What is suggested

    def _asked(self, on: date, *kinds: Kind) -> list[NextStep]:
        advice = read_advice(self.episode, on=on)
        steps = advice.steps if advice else ()
        return [
            step
            for step in steps
            if step.suggestion.kind in kinds and step.is_asked and step.can_accept
        ]

    def _ease(self, on: date, *, is_flare: bool) -> None:
        """Ease off at every flare; soreness that stays is given time in between."""
        steps = self._asked(on, Kind.EASE_OFF)
        is_soon = bool(self.eased) and on < self.eased[-1] + GIVE_IT_TIME
        if not is_flare and (is_soon or len(self.eased) >= MOST_EASED):
            for step in steps[:1] if is_soon else ():
                decline_step(step, by=self.by, on=on, words=LET_IT_WORK)
            return
        for step in steps[:EASED_AT_ONCE]:
            self._accept(step, on)
        self.eased.append(on)

    def _accept(self, step: NextStep, on: date) -> None:
        choice = accept_step(step, by=self.by, on=on)
        self._replace(step.prescription, choice.leads_to)

    def _go_up(self, visit: VisitPlan) -> None:
        """Take the first step up that is suggested, change it, or leave it.

        Where the knee is irritable or was sore the next morning, the answer is known.
        """
        is_asking = (
            self.episode.irritability != Episode.Irritability.HIGH
            and visit.next_morning == "settled"
        )
        asked = self._asked(visit.on, Kind.PROGRESS) if is_asking else []
        if not asked:
            self._go_up_by_hand(visit)
            return
        step, chance = asked[0], self.rng.random()
        if chance < 0.6:
            self._accept(step, visit.on)
        elif chance < 0.8:
            self._edit(step, visit.on)
        else:
            words = self.rng.choice(NOT_NOW[:2])
            decline_step(step, by=self.by, on=visit.on, words=words)

    def _edit(self, step: NextStep, on: date) -> None:
        assert step.changed  # noqa: S101 (asked for as a change)
        made = change_prescription(
            step.prescription,
            by=self.by,
            line=replace(step.changed, note=GENTLER),
            on=on,
            why=step.why,
        )
        keep_edited(step, made, by=self.by, on=on)
        self._replace(step.prescription, made)

    def _go_up_by_hand(self, visit: VisitPlan) -> None:
        """Try the next rung of one line where the visit was calm."""
        is_calm = (visit.pain_during or 0) <= CALM_PAIN
        for old in self.lines if is_calm and visit.next_morning == "settled" else ():
            line = line_of(old)
            rung = library.harder(line.exercise) if line.exercise else None
            if rung and is_trained(line) and not line.is_flow_restricted:
                made = change_prescription(
                    old, by=self.by, line=moved(line, rung), on=visit.on, why=BY_HAND
                )
                self._replace(old, made)
                return

    def _keep(self, on: date) -> None:
        """Take the suggestion to hold; leave one to go up where scores are flat."""
        for step in self._asked(on, Kind.HOLD, Kind.PROGRESS)[:1]:
            if step.suggestion.kind is Kind.HOLD:
                self._accept(step, on)
            else:
                decline_step(step, by=self.by, on=on, words=NOT_NOW[2])
