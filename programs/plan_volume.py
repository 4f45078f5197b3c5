"""What a plan asks for in a week, and how much that has changed."""

from collections.abc import Iterable
from datetime import date, timedelta

from clinic.templatetags.clinic_format import signed

from .course import runs
from .dosing.no_estimate import NoEstimate
from .dosing.volume import Volume, VolumeChange, Work, volume_change, volume_of
from .lines import Line, line_of
from .models import Prescription

NOTHING = Volume(0, None)


def week_of(line: Line, *, on: date) -> Volume:
    """Return the planned volume of a week; zero where repetitions are not counted."""
    if line.scheme:
        sets, repetitions = 1, sum(line.scheme)
    else:
        sets, repetitions = line.sets or 0, line.repetitions or 0
    work = Work(on, sets, repetitions, line.load_kg)
    found = volume_of([work] * (line.times_a_week or 0))
    return NOTHING if isinstance(found, NoEstimate) else found


def volume_words(line: Line, *, before: Line | None, on: date) -> str:
    """Return the planned week with its change from the line before."""
    now = week_of(line, on=on)
    if not now.repetitions:
        return ""
    words = f"{now.words} a week"
    if before is None:
        return words
    return f"{words}{_change_words(week_of(before, on=on), now)}"


def planned_week(lines: Iterable[Prescription], *, on: date) -> str:
    """Return the repetitions that the whole plan asks for, against a week ago."""
    rows = list(lines)
    now, then = (_in_force(rows, day) for day in (on, on - timedelta(days=7)))
    if not now.repetitions:
        return ""
    return f"{now.words} a week in all{_change_words(then, now, since='a week ago')}"


def _in_force(rows: list[Prescription], on: date) -> Volume:
    running = [line_of(row) for row in rows if runs(row, on)]
    return Volume(sum(week_of(line, on=on).repetitions for line in running), None)


def _change_words(
    before: Volume, now: Volume, *, since: str = "the line before"
) -> str:
    change = volume_change(before, now)
    if not isinstance(change, VolumeChange):
        return ""
    percent = round(change.percent)
    if percent == 0:
        return f", as {since}"
    return f", {signed(percent)} % against {since}"
