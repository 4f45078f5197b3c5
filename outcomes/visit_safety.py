"""What stands on top of the visit form for safety: open answers, and what is asked."""

from dataclasses import dataclass
from datetime import date
from functools import cached_property

from clinic.models import Episode
from clinic.screening import Concern, age_on, asked_always

from .caseload import full_screen_because
from .open_flags import OpenFlag, open_flags_of_person
from .science.policy import StallPolicy


@dataclass(frozen=True, kw_only=True)
class VisitSafety:
    """The safety part of one visit form, read when it is asked for."""

    episode: Episode
    policy: StallPolicy
    on: date

    @cached_property
    def open_flags(self) -> tuple[OpenFlag, ...]:
        """The red-flag answers of the person that still await a decision."""
        return open_flags_of_person(self.episode)

    @cached_property
    def full_because(self) -> str:
        """Why the full screen is asked; empty where the short one will do."""
        return full_screen_because(self.episode, policy=self.policy, on=self.on)

    @property
    def age(self) -> int:
        """The person's completed years."""
        return age_on(self.episode.patient.birth_date, self.on)

    @property
    def asked_always(self) -> tuple[Concern, ...]:
        """What is asked at every visit because of the person's age."""
        return asked_always(age=self.age)
