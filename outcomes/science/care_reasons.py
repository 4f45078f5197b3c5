"""The plain words of findings about care: red flags, load, re-measures, visits."""

from __future__ import annotations

import numpy as np

from .phrases import Evidence, day_words, number_words
from .progress import Progress


def red_flag(progress: Progress, row: int) -> tuple[str, Evidence]:
    day = day_words(progress.courses.red_flag_day[row])
    return (
        f"A red-flag answer of {day} awaits a decision in words. Advice on progress "
        "and load is withheld until then.",
        (("Positive answer", day),),
    )


def above_limit(progress: Progress, row: int) -> tuple[str, Evidence]:
    over = progress.over_limit
    last = int(over.count[row]) - 1
    first_day = day_words(over.day[row, last - 1])
    last_day = day_words(over.day[row, last])
    limit = number_words(progress.policy.pain_during_limit)
    return (
        f"Pain during exercise above {limit} of 10, or a flare next morning, at two "
        f"visits running: {first_day} and {last_day}. Review the load.",
        (("Visits", f"{first_day}, {last_day}"), ("Limit", f"{limit} of 10")),
    )


def overdue(progress: Progress, row: int) -> tuple[str, Evidence]:
    due = progress.next_due[row]
    late = int(progress.on - due)
    looks = int(progress.looks.track.count[row])
    last = progress.looks.track.latest_day[row]
    seen = f"the last look was on {day_words(last)}" if looks else "no look yet"
    sentence = f"The re-measure due on {day_words(due)} is {late} days late; {seen}."
    if progress.too_few[row]:
        after = max(looks - 1, 0)
        sentence += (
            f" Too few assessments to judge progress: {after} since the baseline, and "
            f"two at least {progress.policy.look_spacing_days} days apart are needed."
        )
    return sentence, (("Due", day_words(due)), ("Looks so far", str(looks)))


def not_seen(progress: Progress, row: int) -> tuple[str, Evidence]:
    planned, seen = progress.courses.planned_day[row], progress.last_seen[row]
    was_seen = seen > progress.courses.opened[row] or _seen_at_opening(progress, row)
    since = "Last seen on" if was_seen else "No attended visit since the opening on"
    sentence = f"{since} {day_words(seen)}, {int(progress.on - seen)} days ago"
    if np.isnan(planned) or planned <= seen:
        sentence += "; no visit is planned."
    elif planned < progress.on:
        sentence += f"; the visit planned for {day_words(planned)} did not take place."
    else:
        sentence += f"; the next visit is planned for {day_words(planned)}."
    return sentence, (("Last seen", day_words(seen)),)


def _seen_at_opening(progress: Progress, row: int) -> bool:
    days = progress.courses.attended_day[row]
    return bool((days == progress.courses.opened[row]).any())


def baseline(progress: Progress, row: int) -> tuple[str, Evidence]:
    opened = progress.courses.opened[row]
    first = progress.looks.baseline_day[row]
    allowed = progress.policy.baseline_days
    evidence = (("Opened", day_words(opened)),)
    if np.isnan(first):
        return (
            f"No baseline: opened on {day_words(opened)}, and no complete assessment "
            f"within {allowed} days. Change cannot be judged without one.",
            evidence,
        )
    return (
        f"Late baseline: the first look, {day_words(first)}, came "
        f"{int(first - opened)} days after the opening, {allowed} allowed. Change "
        "before it is not counted.",
        (*evidence, ("First look", day_words(first))),
    )
