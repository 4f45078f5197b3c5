"""Three earlier years of the invented clinic, brought in as its old spreadsheets.

They give the review of the caseload months to look back on. Sizes are constructed:
AKPS near 68 at entry, a gain near 12 after 12 weeks that is smaller for a better
start and for longer symptoms, and about one in six who stops coming.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from io import BytesIO, StringIO
from math import exp, log2
from random import Random

from clinic.models import Patient, User

from ..importing.caseload import Source, bring_in
from ..importing.observations import COLUMNS as OBSERVATIONS
from ..importing.patients import COLUMNS as PATIENTS
from .answers import answers_for
from .names import CLINICIANS, ENDS, GIVEN_F, GIVEN_M, LEAD, STARTS

SEED = 31
CASES = 260
FIRST_DAYS_AGO, LAST_DAYS_AGO = 1150, 250
WEEKS = (0, 3, 6, 12)
WHO = (*CLINICIANS, LEAD)
SHARES = (34, 30, 28, 8)  # of the cases, in the order of WHO
STOPS = 0.17  # share who stop coming after the third or the sixth week


@dataclass(frozen=True, slots=True, kw_only=True)
class OldCase:
    """One ended episode as the spreadsheets hold it."""

    number: str
    family: str
    given: str
    sex: str
    born_on: date
    side: str
    onset_on: date
    opened_on: date
    ended_on: date
    reason: str
    clinician: str
    scores: tuple[tuple[date, int], ...]
    worst: tuple[tuple[date, int], ...]


def bring_in_history(*, by: User, on: date) -> int:
    """Bring the earlier years in through the importer; return how many episodes.

    Raises ValueError if the importer finds a fault in them.
    """
    taken = set(Patient.objects.values_list("family_name", "given_name"))
    cases = list(plan_history(on, taken=taken))
    source = Source(
        patients=_file(PATIENTS, map(_patient_row, cases)),
        observations=_file(OBSERVATIONS, _observation_rows(cases)),
    )
    report = bring_in(source, by=by, on=on)
    if not report.is_sound:
        raise ValueError(f"The invented history is faulty: {report.problems[:3]}")
    return len(cases)


def plan_history(on: date, *, taken: set[tuple[str, str]]) -> Iterator[OldCase]:
    """Yield the cases in order of opening; the same day always gives the same."""
    rng = Random(SEED)  # noqa: S311 - invented people
    days = sorted(rng.uniform(LAST_DAYS_AGO, FIRST_DAYS_AGO) for _ in range(CASES))
    used = set(taken)
    for place, days_ago in enumerate(reversed(days)):
        opened_on = on - timedelta(days=round(days_ago))
        family, given, sex = _name(used, rng)
        used.add((family, given))
        yield _case(place, opened_on, (family, given, sex), rng)


def _name(used: set[tuple[str, str]], rng: Random) -> tuple[str, str, str]:
    while True:
        sex = "F" if rng.random() < 0.69 else "M"
        family = rng.choice(STARTS) + rng.choice(ENDS)
        given = rng.choice(GIVEN_F if sex == "F" else GIVEN_M)
        if (family, given) not in used:
            return family, given, sex


def _case(
    place: int, opened_on: date, name: tuple[str, str, str], rng: Random
) -> OldCase:
    family, given, sex = name
    months = min(max(rng.lognormvariate(2.2, 0.9), 0.7), 110)
    baseline = round(min(max(rng.gauss(68, 12), 36), 94))
    gain = 12 - 0.32 * (baseline - 68) - 2.2 * log2(months / 9) + rng.gauss(0, 8)
    stays = WEEKS if rng.random() > STOPS else WEEKS[: rng.choice((2, 3))]
    scores = tuple(_scores(opened_on, baseline, gain, stays, rng))
    is_lost = len(stays) < len(WEEKS)
    reached = scores[-1][1] - baseline >= 10
    reason = "goals met" if reached else "no further benefit"
    pause = timedelta(days=rng.randint(21, 35) if is_lost else rng.randint(0, 12))
    return OldCase(
        number=f"TH{2001 + place}",
        family=family,
        given=given,
        sex=sex,
        born_on=opened_on - timedelta(days=round(rng.triangular(17, 52, 26) * 365.25)),
        side=rng.choice(("left", "right")),
        onset_on=opened_on - timedelta(days=round(months * 30.44)),
        opened_on=opened_on,
        ended_on=scores[-1][0] + pause,
        reason="stopped attending" if is_lost else reason,
        clinician=rng.choices(WHO, SHARES)[0].username,
        scores=scores,
        worst=tuple((day, _pain(score, rng)) for day, score in scores),
    )


def _scores(
    opened_on: date, baseline: int, gain: float, weeks: tuple[int, ...], rng: Random
) -> Iterator[tuple[date, int]]:
    """Yield days with AKPS scores: most of the gain comes early."""
    for week in weeks:
        share = (1 - exp(-week / 6)) / (1 - exp(-2))
        noise = rng.gauss(0, 2.5) if week else 0
        score = round(min(max(baseline + gain * share + noise, 25), 100))
        late = _days_late(week, rng)
        # No form adds up to 99: each item has its own steps.
        yield opened_on + timedelta(days=7 * week + late), score - (score == 99)


def _days_late(week: int, rng: Random) -> int:
    """Return how far a score lies from its day; one last score in six is weeks late."""
    if week == WEEKS[-1] and rng.random() < 1 / 6:
        return rng.randint(7, 20)
    return rng.randint(-2, 6) if week else 0


def _pain(score: int, rng: Random) -> int:
    return min(max(round((100 - score) / 7 + rng.gauss(1.5, 1)), 0), 10)


def _patient_row(case: OldCase) -> tuple[str, ...]:
    return (
        case.number,
        case.family,
        case.given,
        case.born_on.isoformat(),
        case.sex,
        case.side,
        case.onset_on.isoformat(),
        case.opened_on.isoformat(),
        case.clinician,
        case.ended_on.isoformat(),
        case.reason,
    )


def _observation_rows(cases: list[OldCase]) -> Iterator[tuple[str, ...]]:
    rng = Random(SEED + 1)  # noqa: S311 - invented answers
    for case in cases:
        for (day, score), (_, worst) in zip(case.scores, case.worst, strict=True):
            facts = [("visit", "attendance", "attended"), ("pain", "worst", str(worst))]
            answers = answers_for("akps", score, rng=rng)
            facts += [("akps", item, str(code)) for item, code in answers.items()]
            for fact in facts:
                yield case.number, case.side, day.isoformat(), *fact, case.clinician


def _file(columns: tuple[str, ...], rows: Iterator[tuple[str, ...]]) -> BytesIO:
    text = StringIO()
    writer = csv.writer(text)
    writer.writerow(columns)
    writer.writerows(rows)
    return BytesIO(text.getvalue().encode())
