"""Adjuncts that run past what guidance supports, without a review."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from programs import library
from programs.course import Course
from programs.library_entries import Exercise, TimeLimit
from programs.plans import chain_of, limit_of

from .models import CaseReview


def overdue_adjuncts(
    course: Course, reviews: Sequence[CaseReview], *, on: date
) -> Iterator[str]:
    """Yield a sentence per running line past its limit.

    A review of the case kept since the limit quiets it until its day to look again.
    """
    for line in course.running(on):
        entry = library.library().get(line.exercise)
        limit = limit_of(chain_of(line, course.by_pk), entry, on=on)
        if entry is None or limit is None or not limit.is_past:
            continue
        if any(
            review.reviewed_on >= limit.ends_on and on < review.look_again_on
            for review in reviews
        ):
            continue
        began_on = limit.ends_on - timedelta(weeks=limit.weeks)
        yield _words(entry, limit.about, weeks=(on - began_on).days // 7)


def _words(entry: Exercise, limit: TimeLimit, *, weeks: int) -> str:
    return (
        f"{entry.name} has run {weeks} weeks; guidance sets {limit.weeks} "
        f"({limit.source.short}, {limit.mark}): review or stop."
    )
