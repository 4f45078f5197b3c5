"""What a letter to the referrer says of the reason for care and of its course."""

from __future__ import annotations

from collections.abc import Iterator

from clinic.models import Episode
from clinic.templatetags.clinic_format import lower_first

from ..science.mcid import Change
from ..science.measures import measure
from ..science.verdicts import Verdict, day
from .record import LetterRecord
from .words import began_about, for_outside, listed, name_of, scale_of

GROUP_LIMITS = (
    "The limits for judging change come from groups of patients. They support a "
    "judgement about one person and do not make it."
)


def reason_told(record: LetterRecord) -> Iterator[str]:
    """Say who, which knee, why, and since when."""
    case = record.episode
    who = f"{name_of(case.patient)}, born {day(case.patient.birth_date)},"
    knee = f"for pain of the {case.side} knee"
    since = f"Symptoms began about {began_about(case)}."
    if case.discharged_on:
        stay = f"from {day(case.opened_on)} to {day(case.discharged_on)}"
        yield f"{who} was in our care {stay} {knee}. {since}"
    else:
        yield f"{who} has been in our care since {day(case.opened_on)} {knee}. {since}"
    yield " ".join(_circumstances(case))
    if goals := case.goals.strip():
        yield f"Goals, in the patient’s own words: “{goals}”"


def _circumstances(case: Episode) -> Iterator[str]:
    if case.is_bilateral:
        yield "The other knee hurts as well."
    if case.continues and case.continues.discharged_on:
        began, end = case.continues.opened_on, case.continues.discharged_on
        yield f"The same knee was in care before, from {day(began)} to {day(end)}."
    if case.activity_level or case.sport:
        level = lower_first(case.get_activity_level_display())
        yield f"Activity: {', '.join(filter(None, (level, case.sport)))}."
    if case.irritability:
        level = lower_first(case.get_irritability_display())
        yield f"Irritability at entry, as judged then: {level}."


def course_told(record: LetterRecord) -> Iterator[str]:
    """Say what was measured, and what the change amounts to."""
    yield _primary(record)
    yield _of_pain(record)
    if record.rating and record.rating_on:
        rated = for_outside(record.rating.sentence)
        yield f"Own rating of change, {day(record.rating_on)}: {rated}"
    judged = (record.change, record.pain)
    if any(change and change.gain is not None for change in judged):
        yield GROUP_LIMITS


def _primary(record: LetterRecord) -> str:
    about = record.about
    parts = [f"{about.name} ({about.short_name}; {scale_of(about)})."]
    if record.points:
        parts.append(f"Scores: {listed(record.scores)}.")
    else:
        parts.append("There is no score on record: no baseline, and no judgement.")
    parts += [
        f"Answered on {day(row.assessed_on)} without a score: {row.no_score_reason}"
        for row in record.unscored
    ]
    if len(record.points) == 1:
        parts.append("There is no second score, so change cannot be judged.")
    return " ".join((*parts, *_verdict(record.change)))


def _of_pain(record: LetterRecord) -> str:
    about = measure("pain_worst")
    start = f"{about.name} ({scale_of(about)})."
    if not record.worst:
        return f"{start} It was never rated."
    again = () if len(record.worst) > 1 else ("It was not rated again.",)
    told = f"Ratings: {listed(record.worst)}."
    return " ".join((start, told, *again, *_verdict(record.pain)))


def _verdict(change: Change | None) -> Iterator[str]:
    if change is None:
        return
    yield for_outside(change.sentence)
    if change.verdict is Verdict.CANNOT_SAY:
        yield change.verdict.sentence
    else:
        yield f"In short: {change.label}."
    yield from change.notes
