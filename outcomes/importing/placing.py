"""Decides what of one person's day is new, known already, withdrawn or contradicted."""

from datetime import date
from typing import Any

from clinic.models import Visit
from programs.models import SessionResponse

from ..models import PainScore
from ..science.measures import QUESTIONNAIRES
from .assessing import Assessing
from .days import Groups, Told, group, join_sides
from .lookup import Lookup
from .matching import Span, Tally
from .problems import Problems
from .scratch import Fact
from .stored import (
    Shelf,
    contradicts,
    pain_of_day,
    says_all,
    standing,
    visit_of_day,
    withdrawn,
)
from .storing import Writer

ATTENDED = Visit.Attendance.ATTENDED


class Placing:
    """Places the facts of one day after another."""

    def __init__(
        self,
        *,
        file: str,
        lookup: Lookup,
        problems: Problems,
        tally: Tally,
        writer: Writer,
    ) -> None:
        self.file = file
        self.lookup = lookup
        self.problems = problems
        self.tally = tally
        self.writer = writer
        self.shelf = Shelf([])
        self.assessing = Assessing(
            file=file, problems=problems, tally=tally, writer=writer
        )

    def use(self, shelf: Shelf) -> None:
        """Take what is stored about the next people."""
        self.shelf = self.assessing.shelf = shelf

    def place(self, facts: list[Fact]) -> None:
        """Place one person's one day."""
        spans = self.lookup.spans(facts)
        day = date.fromordinal(facts[0].day)
        kept = [fact for fact in facts if fact.side in spans and fact.measure]
        groups = group(kept, file=self.file, problems=self.problems)
        for side, span in spans.items():
            if span.is_withdrawn:
                self.tally.withdrawn += self._leave(groups, side)
        join_sides(groups, file=self.file, problems=self.problems)
        visits = {
            side: self._place_visit(
                span,
                day,
                groups.get((side, "visit"), {}),
                groups.get((side, "pain"), {}),
            )
            for side, span in spans.items()
        }
        for (side, key), told in sorted(groups.items()):
            if key in QUESTIONNAIRES:
                self.assessing.place(spans[side], visits[side], day, key, told)
        self.writer.write_if_full()

    def _leave(self, groups: Groups, side: str) -> int:
        """Drop what belongs to a withdrawn episode; return how much that was."""
        dropped = [key for key in groups if key[0] == side]
        for key in dropped:
            del groups[key]
        return len(dropped)

    def _place_visit(
        self, span: Span, day: date, told: Told, pains: Told
    ) -> Visit | None:
        """Place the visit and the pain told at it; return an attended visit."""
        rows = self.shelf.visits.get((span.episode.pk, day), [])
        held = standing(rows)
        attendance = self._attendance(told, held)
        if attendance != ATTENDED:
            self._refuse_told_when_absent(told, pains)
        if not told and not pains:
            return held if held and held.was_attended else None
        said = {item: fact.value for item, fact in told.items()}
        said["attendance"] = attendance
        if held:
            self._compare(told, visit_of_day(held))
            self.tally.known["visits"] += 1
        elif any(says_all(visit_of_day(row), said) for row in withdrawn(rows)):
            self.tally.withdrawn += 1 + bool(pains)
            return None
        else:
            held = self._add_visit(span, day, told or pains, said)
        if pains and held.was_attended:
            self._place_pain(span, held, day, pains)
        return held if held.was_attended else None

    def _attendance(self, told: Told, held: Visit | None) -> Any:
        """Return what became of the appointment; attended where nobody says."""
        if "attendance" in told:
            return told["attendance"].value
        return held.attendance if held else ATTENDED

    def _refuse_told_when_absent(self, told: Told, pains: Told) -> None:
        facts = [*pains.values(), *(told[i] for i in ("next_day",) if i in told)]
        for fact in facts:
            self.problems.add(
                self.file,
                fact.line,
                "observed_on",
                "the visit of this day was not attended, so nothing can have been "
                "told at it: correct the day, or the attendance.",
            )

    def _add_visit(
        self, span: Span, day: date, facts: Told, said: dict[str, Any]
    ) -> Visit:
        self.tally.added["visits"] += 1
        self.tally.visits_assumed += "attendance" not in facts
        first = min(facts.values(), key=lambda fact: fact.line)
        visit = Visit(
            site_id=span.episode.site_id,
            episode_id=span.episode.pk,
            visited_on=day,
            attendance=said["attendance"],
            clinician_id=facts.get("attendance", first).by_id,
            note=said.get("note", ""),
        )
        self.writer.visits.append(visit)
        if "next_day" in said:
            response = SessionResponse(
                site_id=visit.site_id, visit=visit, next_morning=said["next_day"]
            )
            self.writer.responses.append(response)
        return visit

    def _place_pain(self, span: Span, visit: Visit, day: date, pains: Told) -> None:
        rows = self.shelf.pains.get((span.episode.pk, day), [])
        ratings: dict[str, Any] = {kind: fact.value for kind, fact in pains.items()}
        if held := standing(rows):
            self._compare(pains, pain_of_day(held))
            self.tally.known["pain"] += 1
        elif any(says_all(pain_of_day(row), ratings) for row in withdrawn(rows)):
            self.tally.withdrawn += 1
        else:
            self.tally.added["pain"] += 1
            pain = PainScore(
                site_id=span.episode.site_id,
                episode_id=span.episode.pk,
                visit=visit,
                rated_on=day,
                **ratings,
            )
            self.writer.pains.append(pain)

    def _compare(self, told: Told, stored: dict[str, Any]) -> None:
        for item, fact in told.items():
            if fact.value != stored[item]:
                self.problems.add(
                    self.file, fact.line, "value", contradicts(stored[item])
                )
