"""Decides whether a questionnaire of the file is new, known or contradicted."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from clinic.models import Visit

from ..models import Activity, Assessment
from ..recording import FilledForm, scored
from ..science.measures import measure
from ..science.scoring import BadAnswer
from .days import Told, first_line, is_of_person
from .matching import Span, Tally
from .problems import Problems
from .scratch import Fact
from .stored import Shelf, contradicts, says_all, standing, withdrawn
from .storing import Writer


class Assessing:
    """Places forms, and numbers the activities that a person names."""

    def __init__(
        self, *, file: str, problems: Problems, tally: Tally, writer: Writer
    ) -> None:
        self.file = file
        self.problems = problems
        self.tally = tally
        self.writer = writer
        self.shelf = Shelf([])
        self._activities: dict[str, int] = {}
        self._whose = ""

    def place(
        self, span: Span, visit: Visit | None, day: date, key: str, told: Told
    ) -> None:
        """Place one form of one day."""
        rows = self._stored(span, key, day)
        facts = self._by_item(span, key, told)
        answers = {item: fact.value for item, fact in facts.items()}
        held = standing(rows)
        if held and says_all(held.answers, answers):
            self.tally.known[key] += 1
        elif any(says_all(row.answers, answers) for row in withdrawn(rows)):
            self.tally.withdrawn += 1
        elif held:
            self._report_difference(held, facts)
        else:
            self._add(span, visit, day, key, told, answers)

    def _stored(self, span: Span, key: str, day: date) -> list[Assessment]:
        episode = span.episode
        if is_of_person(key):
            return self.shelf.of_person.get((episode.patient_id, key, day), [])
        return self.shelf.of_knee.get((episode.pk, key, day), [])

    def _by_item(self, span: Span, key: str, told: Told) -> dict[str, Fact]:
        """Return the facts by the items' own keys, in the instrument's order."""
        instrument = measure(key)
        if instrument.has_own_items:
            numbers = self._numbers(span, told)
            return {str(numbers[words]): fact for words, fact in told.items()}
        items = (item.key for item in instrument.items)
        return {item: told[item] for item in items if item in told}

    def _numbers(self, span: Span, told: Told) -> Mapping[str, int]:
        """Return the person's activities by their words, numbering new ones."""
        number = next(iter(told.values())).record_number
        if number != self._whose:
            self._whose = number
            stored = self.shelf.activities.get(span.episode.patient_id, {})
            self._activities = dict(stored)
        for words, fact in told.items():
            if words not in self._activities:
                self._name(span, words, fact)
        return self._activities

    def _name(self, span: Span, words: str, fact: Fact) -> None:
        number = 1 + max(self._activities.values(), default=0)
        self._activities[words] = number
        self.tally.added["activities"] += 1
        activity = Activity(
            site_id=span.episode.site_id,
            patient=span.episode.patient,
            number=number,
            words=fact.item,
        )
        self.writer.activities.append(activity)

    def _report_difference(self, held: Assessment, facts: Mapping[str, Fact]) -> None:
        for item, fact in facts.items():
            stored = held.answers.get(item)
            if stored != fact.value:
                self.problems.add(self.file, fact.line, "value", contradicts(stored))

    def _add(
        self,
        span: Span,
        visit: Visit | None,
        day: date,
        key: str,
        told: Told,
        answers: dict[str, Any],
    ) -> None:
        form = FilledForm(measure=key, answers=answers, mode=Assessment.Mode.UNKNOWN)
        try:
            made = scored(span.episode, form, day)
        except BadAnswer as bad:
            self.problems.add(self.file, first_line(told), "item", bad.message)
            return
        made.visit = visit
        made.recorded_by_id = min(told.values(), key=lambda fact: fact.line).by_id
        self.writer.assessments.append(made)
        self.tally.added[key] += 1
