"""Red-flag answers that await a decision, as the pages name them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from clinic.models import Episode, Screen
from clinic.screening import Concern, positives, undecided


@dataclass(frozen=True, slots=True)
class OpenFlag:
    """One positive screen without a decision, with what was answered yes."""

    screen: Screen
    concerns: tuple[Concern, ...]


def open_flags(case: Episode) -> tuple[OpenFlag, ...]:
    """Return the undecided positive screens of a case, oldest first; one query."""
    return _flags(undecided(case))


def open_flags_of_person(case: Episode) -> tuple[OpenFlag, ...]:
    """Return those of either knee of the person, oldest first; one query."""
    screens = Screen.objects.standing().filter(
        episode__patient_id=case.patient_id,
        episode__voided_at__isnull=True,
        is_positive=True,
        decided_at__isnull=True,
    )
    return _flags(screens.select_related("episode").order_by("answered_on", "pk"))


def _flags(screens: Iterable[Screen]) -> tuple[OpenFlag, ...]:
    return tuple(OpenFlag(screen, positives(screen.answers)) for screen in screens)
