"""The red-flag screen: what is asked, what is positive, what was decided."""

import tomllib
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from . import audit
from .models import AuditEvent, Episode, Screen, User, Visit

FILE = Path(__file__).with_name("red_flags.toml")


@dataclass(frozen=True, slots=True)
class Concern:
    """One question of the screen, with the route that a yes points to."""

    key: str
    ask: str
    route: str
    source: str
    in_short: bool
    short_only: bool = False
    always_under: int | None = None


@dataclass(frozen=True, slots=True)
class XRayRule:
    """When a fresh knee injury needs an x-ray; any one sign is enough."""

    age: int
    signs: tuple[str, ...]
    not_valid: str
    source: str


@cache
def checklist() -> tuple[Concern, ...]:
    """Return every concern, in the order of asking."""
    return tuple(Concern(**row) for row in _file()["concerns"])


@cache
def x_ray_rule() -> XRayRule:
    """Return the knee x-ray rule of the checklist."""
    rule = dict(_file()["knee_x_ray"])
    return XRayRule(**{**rule, "signs": tuple(rule["signs"])})


@cache
def _file() -> dict:
    return tomllib.loads(FILE.read_text(encoding="utf-8"))


def edition() -> int:
    """Return the edition that is kept with each answered screen."""
    return int(_file()["edition"])


def age_on(birth_date: date, on: date) -> int:
    """Return completed years of age."""
    had_birthday = (on.month, on.day) >= (birth_date.month, birth_date.day)
    return on.year - birth_date.year - (not had_birthday)


def questions(form: str, *, age: int) -> tuple[Concern, ...]:
    """Return what a form asks at an age; under 18 the hip is always asked."""
    if form == Screen.Form.FULL:
        return tuple(c for c in checklist() if not c.short_only)
    always = asked_always(age=age)
    return tuple(c for c in checklist() if c.in_short or c in always)


def positives(answers: dict[str, bool]) -> tuple[Concern, ...]:
    """Return the concerns that were answered with yes."""
    return tuple(c for c in checklist() if answers.get(c.key))


def asked_always(*, age: int) -> tuple[Concern, ...]:
    """Return the concerns that are asked at every visit because of the age."""
    return tuple(
        c for c in checklist() if c.always_under is not None and age < c.always_under
    )


class UndecidedRedFlag(Exception):
    """A positive answer awaits its decision; `asked` names what was answered."""

    def __init__(self, asked: tuple[str, ...]) -> None:
        super().__init__(f"No decision yet on: {'; '.join(asked)}.")
        self.asked = asked


def undecided(episode: Episode) -> QuerySet[Screen]:
    """Return the positive screens of a case without a decision, oldest first."""
    screens: QuerySet[Screen] = Screen.objects.standing().filter(
        episode=episode, is_positive=True, decided_at__isnull=True
    )
    return screens.order_by("answered_on", "pk")


def require_decisions(episode: Episode) -> None:
    """Raise UndecidedRedFlag while a positive answer of a case is undecided."""
    waiting = [
        concern.ask
        for screen in undecided(episode)
        for concern in positives(screen.answers)
    ]
    if waiting:
        raise UndecidedRedFlag(tuple(waiting))


@transaction.atomic
def answer_screen(
    *,
    episode: Episode,
    by: User,
    form: str,
    answers: dict[str, bool],
    on: date,
    visit: Visit | None = None,
    decision: str = "",
) -> Screen:
    """Keep the answers; a positive one stays open until decided in words."""
    is_positive = bool(positives(answers))
    screen = Screen.objects.create(
        site_id=episode.site_id,
        episode=episode,
        visit=visit,
        form=form,
        edition=edition(),
        answers=answers,
        is_positive=is_positive,
        answered_on=on,
        answered_by=by,
    )
    AuditEvent.objects.record(
        audit.SCREEN_ANSWERED,
        by=by,
        patient=episode.patient,
        screen=screen.pk,
        is_positive=is_positive,
    )
    if is_positive and decision.strip():
        decide(screen, by=by, decision=decision)
    return screen


@transaction.atomic
def decide(screen: Screen, *, by: User, decision: str) -> None:
    """Keep the clinician's decision on a positive answer, in words."""
    screen.decision = decision.strip()
    screen.decided_at = timezone.now()
    screen.decided_by = by
    screen.save(update_fields=["decision", "decided_at", "decided_by"])
    AuditEvent.objects.record(
        audit.SCREEN_DECIDED,
        by=by,
        patient=screen.episode.patient,
        screen=screen.pk,
        decision=screen.decision,
    )
