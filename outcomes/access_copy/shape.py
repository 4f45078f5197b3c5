"""What a copy of a record consists of: chapters of entries of facts."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from clinic.templatetags.clinic_format import day, moment, yes_no


@dataclass(frozen=True, slots=True)
class Fact:
    """One value under a label; `value` as it is stored, `words` as it is read.

    What the title of its entry says already, a page need not repeat.
    """

    name: str
    label: str
    value: Any
    words: str
    is_in_title: bool = False

    @property
    def data(self) -> dict[str, Any]:
        """The fact as plain values; days and moments by ISO 8601."""
        is_day = isinstance(self.value, date)
        value = self.value.isoformat() if is_day else self.value
        return {
            "name": self.name,
            "label": self.label,
            "value": value,
            "words": self.words,
        }


@dataclass(frozen=True, slots=True)
class Entry:
    """One row of the record; `withdrawn` says who withdrew it, when and why."""

    title: str
    withdrawn: str
    facts: tuple[Fact, ...]

    @property
    def data(self) -> dict[str, Any]:
        """The entry as plain values."""
        facts = [fact.data for fact in self.facts]
        return {"title": self.title, "withdrawn": self.withdrawn, "facts": facts}


@dataclass(frozen=True, slots=True)
class Chapter:
    """Every row of one kind, with a sentence on what it is."""

    key: str
    title: str
    about: str
    entries: tuple[Entry, ...]

    @property
    def data(self) -> dict[str, Any]:
        """The chapter as plain values."""
        return {
            "key": self.key,
            "title": self.title,
            "about": self.about,
            "entries": [entry.data for entry in self.entries],
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Copy:
    """Everything that is held about one person."""

    name: str
    clinic: str
    is_demo: bool
    made_at: datetime
    asked_on: date
    chapters: tuple[Chapter, ...]

    @property
    def data(self) -> dict[str, Any]:
        """The copy as plain values."""
        return {
            "name": self.name,
            "clinic": self.clinic,
            "is_invented": self.is_demo,
            "made_at": self.made_at.isoformat(timespec="seconds"),
            "asked_on": self.asked_on.isoformat(),
            "chapters": [chapter.data for chapter in self.chapters],
        }


def in_words(value: Any) -> str:
    """Return any stored value as somebody reads it; nothing held is empty."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return yes_no(value)
    if isinstance(value, datetime):
        return moment(value)
    if isinstance(value, date):
        return day(value)
    if isinstance(value, float):
        return f"{value:.10g}"
    if isinstance(value, Mapping):
        named = ((str(key), in_words(held)) for key, held in value.items())
        told = [f"{key.replace('_', ' ')}: {held}" for key, held in named if held]
        return "; ".join(told)
    if isinstance(value, list | tuple):
        return ", ".join(in_words(one) for one in value)
    return str(value)


def fact(name: str, label: str, value: Any, words: str = "") -> Fact:
    """Return a fact; without words of its own it speaks for itself."""
    return Fact(name, label, value, words or in_words(value))
