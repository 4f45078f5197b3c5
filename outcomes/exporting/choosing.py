"""Which episodes an export is about, and what a stranger may know of each."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from itertools import islice
from typing import Any, NamedTuple, TypeVar

from django.db.models import F

from clinic.models import Episode, User
from clinic.querysets import EpisodeQuerySet
from clinic.screening import age_on

from ..caseload import judge
from ..period_choice import duration_band
from ..science.mcid import Point
from ..science.measures import measure
from ..science.policy import StallPolicy
from ..science.verdicts import Verdict
from .columns import NOT_MEASURED
from .generalising import Quasi, age_band
from .random_keys import shuffled_codes

# So many episodes are read at once; memory stays the same at any size.
AT_ONCE = 500
Row = TypeVar("Row")


class Chosen(NamedTuple):
    """One episode of the period as it was fetched."""

    pk: int
    patient_id: int
    side: str
    opened_on: date
    discharged_on: date | None
    symptom_onset_on: date
    clinician_id: int
    primary_measure: str
    sex: str
    born_on: date


@dataclass(frozen=True, slots=True)
class Candidate:
    """One episode with what a stranger may know of it, and how it went in one word."""

    episode: int
    person: int
    quasi: Quasi
    verdict: str


def opened_in_period(by: User, from_on: date, until_on: date) -> EpisodeQuerySet:
    """Return the site's standing episodes that opened in the period."""
    episodes: EpisodeQuerySet = Episode.objects.for_user(by).standing()
    return episodes.filter(opened_on__range=(from_on, until_on))


def people_who_decline(episodes: EpisodeQuerySet) -> int:
    """Count the people that are left out because they decline the use for audit."""
    declining = episodes.filter(patient__audit_declined_on__isnull=False)
    return declining.values("patient").distinct().count()


def codes_of_clinicians(episodes: EpisodeQuerySet) -> dict[int, str]:
    """Draw a code for each clinician; another export draws other codes."""
    clinicians = episodes.order_by("clinician_id").values_list("clinician_id")
    return shuffled_codes(pk for (pk,) in clinicians.distinct())


def candidates(
    episodes: EpisodeQuerySet, *, policy: StallPolicy, codes: Mapping[int, str]
) -> Iterator[Candidate]:
    """Yield the episodes that may be shared in order of person, a few at a time."""
    from ..frames import looks_by_episode

    for cases in in_parts(in_order_of_person(episodes.shared())):
        looks = looks_by_episode(cases)
        for case in cases:
            found = looks.get(case.pk, ())
            points = [k.as_point() for k in found if k.measure == case.primary_measure]
            yield Candidate(
                episode=case.pk,
                person=case.patient_id,
                quasi=quasi_of(case, codes),
                verdict=last_verdict(case, points, policy),
            )


def in_parts(rows: Iterable[Row], size: int = AT_ONCE) -> Iterator[list[Row]]:
    """Yield rows in lists of that size, the last one shorter."""
    left = iter(rows)
    while part := list(islice(left, size)):
        yield part


def in_order_of_person(episodes: EpisodeQuerySet) -> Iterator[Any]:
    """Yield each episode as Chosen, the knees of one person beside each other."""
    rows = (
        episodes.annotate(sex=F("patient__sex"), born_on=F("patient__birth_date"))
        .order_by("patient_id", "pk")
        .values_list(*Chosen._fields)
    )
    return map(Chosen._make, rows.iterator(chunk_size=AT_ONCE))


def quasi_of(case: Chosen, codes: Mapping[int, str]) -> Quasi:
    """Return what a stranger may know of an episode, as of the day it opened."""
    from ..frames.cases import DAYS_OF_A_MONTH

    days = (case.opened_on - case.symptom_onset_on).days
    return Quasi(
        age_band=age_band(age_on(case.born_on, case.opened_on)),
        sex=case.sex,
        side=case.side,
        duration_band=duration_band(days / DAYS_OF_A_MONTH),
        year_opened=case.opened_on.year,
        clinician_code=codes[case.clinician_id],
    )


def last_verdict(case: Any, points: list[Point], policy: StallPolicy) -> str:
    """Return the verdict on the last score that can be held against the first."""
    about = measure(case.primary_measure)
    for upto in range(len(points), 1, -1):
        change = judge(about, points[:upto], case=case, policy=policy)
        if change and change.verdict is not Verdict.CANNOT_SAY:
            return change.verdict.value
    return NOT_MEASURED
