"""How a kind of row becomes a chapter: every column, unless it is left out by name.

A column that is added to a table later is in the copy from that day on.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Any

from django.db import models

from clinic.models import Episode, Patient, Visit
from clinic.templatetags.clinic_format import day, lower_first
from programs.lines import name_of
from programs.models import Phase, Prescription, Programme

from ..models import Assessment
from ..science.measures import catalogue
from .shape import Chapter, Entry, Fact, fact, in_words

NOTHING: Mapping[str, Any] = MappingProxyType({})
# Columns of many tables that say nothing about the person, each with its reason.
PLUMBING = {
    "id": "the number of the row, which means nothing outside",
    "site": "the clinic, named at the top",
    "patient": "the person whose copy it is",
    "version": "counts changes; the changes are in the chapter on who changed what",
    "request_id": "names one request to the server",
    "voided_at": "in the note of a withdrawn entry",
    "voided_by": "in the note of a withdrawn entry",
    "void_reason": "in the note of a withdrawn entry",
}

# Columns of several tables whose name says too little to somebody outside.
LABELS = {
    "recorded_at": "Entered",
    "recorded_by": "Entered by",
    "created_at": "Entered",
    "made_at": "Entered",
    "made_by": "Made by",
    "by": "By",
    "assessed_on": "Day",
    "visited_on": "Day",
    "answered_on": "Day",
    "rated_on": "Day",
    "tested_on": "Day",
    "edition": "Edition of the form",
    "pain_during": "Pain while exercising, 0 to 10",
    "is_stopped_by_pain": "Stopped by pain",
}


@dataclass(frozen=True, slots=True)
class Known:
    """What is looked up once for the whole copy."""

    activities: Mapping[str, str]


Special = Callable[[Any, Known], list[Fact]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One table: its chapter, the way to the person, and how a row is headed.

    `titled` names the columns that the heading says; `special` replaces a column by
    facts of its own; `left_out` names columns that are not copied, with the reason.
    """

    model: type[models.Model]
    key: str
    title: str
    about: str
    path: str
    heading: Callable[[Any], str]
    order: tuple[str, ...]
    titled: tuple[str, ...] = ()
    related: tuple[str, ...] = ()
    labels: Mapping[str, str] = field(default_factory=lambda: NOTHING)
    special: Mapping[str, Special] = field(default_factory=lambda: NOTHING)
    left_out: Mapping[str, str] = field(default_factory=lambda: NOTHING)

    def rows(self, patient: Patient) -> models.QuerySet[Any]:
        """Return the person's rows, the voided ones too."""
        found = self.model._default_manager.filter(**{self.path: patient.pk})
        pointers = [
            column.name
            for column in self.model._meta.concrete_fields
            if column.is_relation and column.name not in ("site", "patient")
        ]
        return found.select_related(*pointers, *self.related).order_by(*self.order)

    def chapter(self, patient: Patient, known: Known) -> Chapter:
        """Return the chapter of one person."""
        rows = self.rows(patient)
        entries = tuple(self._entry(row, known) for row in rows)
        return Chapter(self.key, self.title, self.about, entries)

    def _entry(self, row: Any, known: Known) -> Entry:
        facts = tuple(
            replace(found, is_in_title=found.name in self.titled)
            for found in self._facts(row, known)
        )
        return Entry(self.heading(row), withdrawn_words(row), facts)

    def _facts(self, row: Any, known: Known) -> Iterator[Fact]:
        for column in self.model._meta.concrete_fields:
            if column.name in PLUMBING or column.name in self.left_out:
                continue
            if column.name in self.special:
                yield from self.special[column.name](row, known)
                continue
            found = _fact_of(column, row, self.labels)
            if found.words:
                yield found


def _fact_of(column: Any, row: Any, labels: Mapping[str, str]) -> Fact:
    label = labels.get(column.name) or LABELS.get(column.name)
    label = label or str(column.verbose_name).capitalize()
    value = getattr(row, column.name)
    if column.is_relation:
        words = pointed_at(value) if value is not None else ""
        return Fact(column.name, label, words, words)
    words = in_words(value)
    if column.choices and words:
        words = str(getattr(row, f"get_{column.name}_display")())
    return Fact(column.name, label, value, words)


def withdrawn_words(row: Any) -> str:
    """Return who withdrew a row, when and why; nothing for one that stands."""
    if getattr(row, "voided_at", None) is None:
        return ""
    return f"Withdrawn on {day(row.voided_at)} by {row.voided_by}: {row.void_reason}"


def pointed_at(row: Any) -> str:
    """Return a row that another one names, in words."""
    match row:
        case Episode():
            return knee_words(row)
        case Visit():
            return f"Visit of {day(row.visited_on)}"
        case Assessment():
            name = catalogue()[row.measure].short_name
            return f"{name} of {day(row.assessed_on)}"
        case Prescription():
            return name_of(row)
        case Phase() | Programme():
            return str(row)
    return str(row)


def knee_words(episode: Episode) -> str:
    """Return "Left knee, in care from 5 Jan 2026"."""
    return f"{episode.get_side_display()}, in care from {day(episode.opened_on)}"


def on_day(column: str, words: str = "") -> Callable[[Any], str]:
    """Return a heading that is the day of a row, after some words."""

    def heading(row: Any) -> str:
        shown = day(getattr(row, column))
        return f"{words} {shown}" if words else shown

    return heading


def choice_on(choice: str, column: str) -> Callable[[Any], str]:
    """Return a heading of a chosen word and the day: "Injection, 3 Mar 2026"."""

    def heading(row: Any) -> str:
        return f"{getattr(row, f'get_{choice}_display')()}, {day(getattr(row, column))}"

    return heading


def answered(name: str, asked: Mapping[str, str], label: str) -> Special:
    """Return the facts of answers by key, each under what was asked."""

    def facts(row: Any, known: Known) -> list[Fact]:
        held = getattr(row, name)
        return [
            fact(f"{name}.{key}", asked.get(key, f"{label} {key}"), value)
            for key, value in held.items()
        ]

    return facts


def listed(name: str, label: str) -> Special:
    """Return a list of keys in words: "target_not_reached" as "target not reached"."""

    def facts(row: Any, known: Known) -> list[Fact]:
        held = getattr(row, name)
        words = ", ".join(lower_first(str(key)).replace("_", " ") for key in held)
        return [Fact(name, label, held, words)] if held else []

    return facts
