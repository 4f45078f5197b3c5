"""Reads single cells: days, choices, words; a fault says what to write instead."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from clinic.access import Role
from clinic.models import Site, User

from .problems import Problems
from .reading import shown

ISO_DAY = re.compile(r"([0-9]{4})-([0-9]{2})-([0-9]{2})")
DAY_FIRST = re.compile(r"([0-9]{1,2})[/.-]([0-9]{1,2})[/.-]([0-9]{4})")
TREATING = (Role.CLINICIAN, Role.LEAD)


class BadCell(ValueError):
    """A cell that cannot be taken; the message says what to write."""

    def __init__(self, sentence: str, column: str = "value") -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.column = column


class UnknownPerson(BadCell):
    """A user name that nobody of the site has."""

    def __init__(self, username: str) -> None:
        self.username = username
        super().__init__(
            f"nobody at this site has the user name {shown(username)}: correct it, or "
            "add this person under People first."
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """What every row of one import is held against."""

    on: date
    is_day_first: bool
    people: Mapping[str, User]

    @classmethod
    def of_site(cls, site: Site, *, on: date, is_day_first: bool) -> "Rules":
        """Take the site's people, those who left included; runs one query."""
        people = {user.username: user for user in site.people.all()}
        return cls(on=on, is_day_first=is_day_first, people=people)

    def day(self, text: str) -> date:
        """Read a day that is not in the future; raises BadCell."""
        day = read_day(text, is_day_first=self.is_day_first)
        if day > self.on:
            raise BadCell(
                f"{day} is in the future (today is {self.on}): correct the date."
            )
        return day

    def person(self, username: str) -> User:
        """Find a person of the site by user name; raises BadCell."""
        if person := self.people.get(username):
            return person
        if username:
            raise UnknownPerson(username)
        raise BadCell(
            f"write the user name of a person of this site; {says(username)}."
        )

    def clinician(self, username: str) -> User:
        """Find a person who treats; raises BadCell."""
        person = self.person(username)
        if person.role in TREATING:
            return person
        raise BadCell(
            f"{shown(username)} has no cases, being an administrator: write the user "
            "name of a clinician or of the clinic lead."
        )


@lru_cache(maxsize=20_000)
def read_day(text: str, *, is_day_first: bool) -> date:
    """Read an ISO date, or one with the day first where that is asked for."""
    if found := ISO_DAY.fullmatch(text):
        year, month, day = found.groups()
    elif is_day_first and (found := DAY_FIRST.fullmatch(text)):
        day, month, year = found.groups()
    else:
        raise BadCell(_how_to_write_a_day(text, is_day_first=is_day_first))
    try:
        return date(int(year), int(month), int(day))
    except ValueError:
        raise BadCell(f"there is no such day; {says(text)}.") from None


def _how_to_write_a_day(text: str, *, is_day_first: bool) -> str:
    if is_day_first:
        return f"write the date like 2026-12-31 or 31/12/2026; {says(text)}."
    if DAY_FIRST.fullmatch(text):
        return (
            "write the date like 2026-12-31, or say that the dates of these files "
            f"have the day first; {says(text)}."
        )
    return f"write the date like 2026-12-31; {says(text)}."


def says(text: str) -> str:
    """Return the end of a sentence that quotes the cell."""
    return f"here it says {shown(text)}" if text else "here it is empty"


def read_choice(text: str, allowed: tuple[str, ...], name: str) -> str:
    """Read one of several words in either case; raises BadCell."""
    for word in allowed:
        if text.lower() == word.lower():
            return word
    listed = f"{', '.join(allowed[:-1])} or {allowed[-1]}"
    raise BadCell(f"{name} is {listed}; {says(text)}.")


def read_words(text: str, *, longest: int) -> str:
    """Read words that must be there and fit; raises BadCell."""
    if not text:
        raise BadCell("fill this cell in; it is empty.")
    if len(text) > longest:
        raise BadCell(f"shorten this to {longest} characters; it has {len(text)}.")
    return text


class RowCheck:
    """One row under check: notes its faults and says whether it had any."""

    def __init__(self, file: str, line: int, problems: Problems) -> None:
        self.file = file
        self.line = line
        self.problems = problems
        self.is_faulty = False

    def wrong(self, column: str, sentence: str) -> None:
        """Note a fault of one cell."""
        self.is_faulty = True
        self.problems.add(self.file, self.line, column, sentence)

    def take(self, column: str, bad: BadCell) -> None:
        """Note what a cell was refused for; unknown people are named once."""
        if isinstance(bad, UnknownPerson):
            self.is_faulty = True
            self.problems.add_missing(self.file, self.line, column, bad)
        else:
            self.wrong(column, bad.sentence)
