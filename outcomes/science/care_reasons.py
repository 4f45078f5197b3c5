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
    seen = f"the last score was on {day_words(last)}" if looks else "no score yet"
    sentence = f"The re-measure due on {day_words(due)} is {late} days late; {seen}."
    if progress.too_few[row]:
        after = max(looks - 1, 0)
        sentence += (
            f" Too few assessments to judge progress: {after} since the baseline, and "
            f"two at least {progress.policy.look_spacing_days} days apart are needed."
        )
    return sentence, (("Due", day_words(due)), ("Scores so far", str(looks)))


def not_seen(progress: Progress, row: int) -> tuple[str, Evidence]:
    planned, seen = progress.courses.planned_day[row], progress.last_seen[row]
    days = _days_words(int(progress.on - seen))
    sentence = f"Last seen {days} ago, on {day_words(seen)}"
    if not _was_seen(progress, row):
        sentence = f"No visit attended in the {days} since {day_words(seen)}"
    if np.isnan(planned) or planned <= seen:
        sentence += "; no visit is planned."
    elif planned < progress.on:
        sentence += f"; the visit planned for {day_words(planned)} did not take place."
    else:
        sentence += f"; the next visit is planned for {day_words(planned)}."
    label = "Last seen" if _was_seen(progress, row) else "Opened"
    return sentence, ((label, day_words(seen)),)


def not_seen_title(progress: Progress, row: int) -> str:
    """Return for how long nobody came, with the day of the last visit or opening."""
    seen = progress.last_seen[row]
    days = _days_words(int(progress.on - seen))
    last = f"last {day_words(seen)}"
    if not _was_seen(progress, row):
        last = f"opened {day_words(seen)}, no visit yet"
    return f"Not seen for {days} ({last})"


def _days_words(days: int) -> str:
    return "1 day" if days == 1 else f"{days} days"


def _was_seen(progress: Progress, row: int) -> bool:
    """Return whether any visit was attended; the opening stands in for a last one."""
    opened = progress.courses.opened[row]
    days = progress.courses.attended_day[row]
    return bool(progress.last_seen[row] > opened or (days == opened).any())


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
        f"Late baseline: the first score, {day_words(first)}, came "
        f"{int(first - opened)} days after the opening, {allowed} allowed. Change "
        "before it is not counted.",
        (*evidence, ("First score", day_words(first))),
    )
