"""Finds the episode that each fact belongs to, or says why there is none."""

from datetime import date

from .matching import Caseload, Span
from .patients import Roster
from .problems import Problems
from .scratch import Fact


class Lookup:
    """The episodes of one person's one day, by side."""

    def __init__(
        self, *, file: str, roster: Roster, caseload: Caseload, problems: Problems
    ) -> None:
        self.file = file
        self.roster = roster
        self.caseload = caseload
        self.problems = problems

    def spans(self, facts: list[Fact]) -> dict[str, Span]:
        """Return the episode of each side; facts without one are reported."""
        number, day = facts[0].record_number, date.fromordinal(facts[0].day)
        found = {}
        for side in {fact.side for fact in facts}:
            if span := self.caseload.span_of(number, side, day):
                found[side] = span
            elif fault := self._why_not(number, side, day):
                for fact in facts:
                    if fact.side == side:
                        self.problems.add(self.file, fact.line, *fault)
        return found

    def _why_not(self, number: str, side: str, day: date) -> tuple[str, str] | None:
        """Return column and sentence, or None where another row is at fault."""
        if number not in self.caseload.patients:
            if self.roster.excuses_number(number):
                return None
            return (
                "record_number",
                "patients.csv has no such record number: correct it, or add the "
                "episode there.",
            )
        if self.roster.excuses_knee(number, side):
            return None
        spans = self.caseload.spans.get((number, side), [])
        if spans:
            return "observed_on", _outside(day, spans)
        if not self.roster.is_complete:
            return None
        return (
            "side",
            f"patients.csv has no episode for the {side} knee of this record number: "
            "correct the side, or add the episode there.",
        )


def _outside(day: date, spans: list[Span]) -> str:
    """Say where a day lies that falls into no episode of the knee."""
    before = [span for span in spans if span.opened_on <= day]
    if not before:
        first = min(span.opened_on for span in spans)
        return (
            f"{day} is before the episode of this knee opened ({first}): correct the "
            "date, or the episode in patients.csv."
        )
    last = max(span.discharged_on or date.min for span in before)
    return (
        f"{day} is after the episode of this knee was discharged ({last}): correct "
        "the date, or add the later episode to patients.csv."
    )
