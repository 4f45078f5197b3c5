"""What a bundle is made of: one case as plain values, free of any database."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Whom it is about; the receiver needs this much to find the right record."""

    row: int
    record_number: str
    family_name: str
    given_name: str
    birth_date: date
    sex: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Knee:
    """The episode of care of one knee."""

    row: int
    side: str
    onset_on: date
    opened_on: date
    discharged_on: date | None
    clinician: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """One standing questionnaire; `answers` by item key, without those missing."""

    row: int
    measure: str
    edition: int
    assessed_on: date
    recorded_at: datetime
    recorded_by: int
    answers: Mapping[str, str | int]
    score: float | None
    language: str
    is_corrected: bool
    is_by_proxy: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Rated:
    """Pain of one kind on one day, 0 to 10."""

    row: int
    measure: str
    rated_on: date
    value: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Content:
    """Everything that one bundle holds."""

    site: int
    site_name: str
    is_demo: bool
    made_at: datetime
    person: Person
    knee: Knee
    answered: tuple[Answered, ...]
    rated: tuple[Rated, ...]

    @property
    def scored(self) -> tuple[Answered, ...]:
        """The questionnaires that have a score."""
        return tuple(form for form in self.answered if form.score is not None)
