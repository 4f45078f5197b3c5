"""Which questionnaire is due for a case on a day, and which others can be added."""

from dataclasses import dataclass
from datetime import date, timedelta

from clinic.models import Episode

from .models import Assessment
from .science.measures import QUESTIONNAIRES, Measure, measure
from .science.policy import StallPolicy


@dataclass(frozen=True, slots=True)
class Due:
    """The primary measure of a case when it is time to ask it again."""

    about: Measure
    due_on: date
    is_first: bool


def next_due_on(
    opened_on: date,
    looks: list[date],
    *,
    weeks: tuple[int, ...],
    then_every_weeks: int,
    early_days: int,
) -> date:
    """Return the first due day that no look has answered; the opening if none has.

    A look answers the due days up to `early_days` after it: the rule of the
    overdue finding, for one case.
    """
    if not looks:
        return opened_on
    answered = max(max(looks) + timedelta(days=early_days), opened_on)
    week = max(weeks, default=0)
    for planned in sorted(weeks):
        if opened_on + timedelta(weeks=planned) > answered:
            return opened_on + timedelta(weeks=planned)
    while opened_on + timedelta(weeks=week) <= answered:
        week += then_every_weeks
    return opened_on + timedelta(weeks=week)


def due_on_day(episode: Episode, *, policy: StallPolicy, on: date) -> Due | None:
    """Return what to ask on a day, early by the policy's days; runs one query."""
    about = measure(episode.primary_measure)
    looks = list(
        Assessment.objects.standing()
        .of_episode(episode)
        .filter(measure=about.key, score__isnull=False, assessed_on__lte=on)
        .values_list("assessed_on", flat=True)
    )
    due_on = next_due_on(
        episode.opened_on,
        looks,
        weeks=tuple(episode.schedule_weeks) or policy.schedule_weeks,
        then_every_weeks=policy.then_every_weeks,
        early_days=policy.early_days,
    )
    if on in looks or on < due_on - timedelta(days=policy.early_days):
        return None
    return Due(about, due_on, is_first=not looks)


def can_be_added(opened: set[str]) -> tuple[Measure, ...]:
    """Return the questionnaires that are not on the page yet."""
    return tuple(measure(key) for key in QUESTIONNAIRES if key not in opened)
