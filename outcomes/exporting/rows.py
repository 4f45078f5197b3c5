"""The rows of the five files, read a few episodes at a time in the order of their keys.

The keys are drawn at random, so the order of the rows tells nothing. What is read here
and is not in the allow-list of `columns` never reaches a file.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from clinic.models import Episode, Visit
from programs.models import Prescription

from ..caseload import judge
from ..models import PAIN_KINDS, Assessment, ExportedCase, PainScore
from ..panels import as_point
from ..science.measures import measure
from ..science.policy import StallPolicy
from .beginning import Begun, Told, silent
from .columns import CLINIC_MADE
from .csv_text import Value
from .overlapping import cases_of
from .windows import nearest, window_of

AT_ONCE = 200
Row = dict[str, Value]


@dataclass(frozen=True, slots=True)
class Case:
    """One episode of the export: its key, what it shows, and from where days count."""

    key: str
    shown: dict[str, str]
    episode: Episode

    def window(self, on: date | None) -> int | None:
        """Return the window in weeks of a day; None without one or outside of all."""
        return None if on is None else window_of((on - self.episode.opened_on).days)

    def day(self, on: date) -> int:
        """Return the days since opening."""
        return (on - self.episode.opened_on).days


class Reading:
    """Reads the rows of an export; `left_out` counts those without a window."""

    def __init__(self, begun: Begun, *, told: Told = silent) -> None:
        self.begun = begun
        self.left_out: Counter[str] = Counter()
        self._told = told

    def rows_of(self, table: str) -> Iterator[Row]:
        """Yield the rows of one file."""
        read = READERS[table]
        for cases in self._parts():
            yield from read(self, cases)
            self._told(f"{table}.csv", len(cases))

    def _parts(self) -> Iterator[list[Case]]:
        """Yield the cases in order of key; each part is a question of its own."""
        last = ""
        chosen = cases_of(self.begun.export).select_related("episode").order_by("key")
        while part := list(chosen.filter(key__gt=last)[:AT_ONCE]):
            last = part[-1].key
            yield [as_case(row) for row in part]

    def episodes(self, cases: list[Case]) -> Iterator[Row]:
        """Yield one row for each episode."""
        for case in cases:
            episode = case.episode
            yield {
                "episode_key": case.key,
                **{name: value or None for name, value in case.shown.items()},
                "primary_measure": episode.primary_measure,
                "discharge_reason": episode.discharge_reason or None,
                "discharge_window": case.window(episode.discharged_on),
            }

    def assessments(self, cases: list[Case]) -> Iterator[Row]:
        """Yield one row for each measure and window.

        A measure of the person stands with the episode in which it was recorded: in
        both it would link two knees.
        """
        found = (
            Assessment.objects.standing()
            .filter(episode__in=ids(cases), score__isnull=False)
            .in_order()
        )
        rows = by_episode(found)
        for case in cases:
            for course in by_measure(rows[case.episode.pk]):
                days = [(case.day(row.assessed_on), row) for row in course]
                codes = codes_of(course)
                for weeks, row in self._kept("assessments", days):
                    yield {
                        **assessed(case, weeks, row),
                        "verdict": verdict(case, course[0], row, self.begun.policy),
                        "activities": rated(row, codes),
                    }

    def pain_scores(self, cases: list[Case]) -> Iterator[Row]:
        """Yield one row for each window."""
        found = PainScore.objects.standing().filter(episode__in=ids(cases))
        rows = by_episode(found.order_by("rated_on"))
        for case in cases:
            days = [(case.day(row.rated_on), row) for row in rows[case.episode.pk]]
            for weeks, row in self._kept("pain_scores", days):
                told = {kind: getattr(row, kind) for kind in PAIN_KINDS}
                yield {"episode_key": case.key, "week_window": weeks, **told}

    def visits(self, cases: list[Case]) -> Iterator[Row]:
        """Yield one row for each appointment, in no order within its window."""
        found = Visit.objects.standing().filter(episode__in=ids(cases))
        rows = by_episode(found.select_related("response"))
        for case in cases:
            told = [visited(case, row) for row in rows[case.episode.pk]]
            yield from self._with_window("visits", told, "week_window")

    def prescriptions(self, cases: list[Case]) -> Iterator[Row]:
        """Yield one row for each line that was begun."""
        found = (
            Prescription.objects.standing()
            .filter(
                phase__programme__episode__in=ids(cases),
                phase__programme__voided_at__isnull=True,
                starts_on__isnull=False,
            )
            .select_related("phase__programme")
        )
        lines: dict[int, list[Prescription]] = defaultdict(list)
        for line in found:
            lines[line.phase.programme.episode_id or 0].append(line)
        for case in cases:
            told = [prescribed(case, line) for line in lines[case.episode.pk]]
            yield from self._with_window("prescriptions", told, "start_window")

    def _kept(self, table: str, days: list[tuple[int, Any]]) -> Iterable[Any]:
        """Return the row of each window, and count what stays behind."""
        windowed = nearest(days)
        self.left_out[table] += windowed.left_out
        return windowed.kept.items()

    def _with_window(self, table: str, rows: list[Row], name: str) -> list[Row]:
        """Return rows in the order of their cells, so that it tells no day."""
        kept = [row for row in rows if row[name] is not None]
        self.left_out[table] += len(rows) - len(kept)
        return sorted(kept, key=in_order_of_cells)


READERS = {
    "episodes": Reading.episodes,
    "assessments": Reading.assessments,
    "pain_scores": Reading.pain_scores,
    "visits": Reading.visits,
    "prescriptions": Reading.prescriptions,
}


def as_case(row: ExportedCase) -> Case:
    """Return a case as the readers use it."""
    return Case(row.key, row.shown, row.episode)


def ids(cases: list[Case]) -> list[int]:
    """Return the episodes to ask for."""
    return [case.episode.pk for case in cases]


def in_order_of_cells(row: Row) -> list[tuple[bool, float, str]]:
    """Return what rows are sorted by: an empty cell first, numbers by size."""
    return [
        (cell is not None, 0, cell)
        if isinstance(cell, str)
        else (cell is not None, cell or 0, "")
        for cell in row.values()
    ]


def by_episode(rows: Iterable[Any]) -> dict[int, list[Any]]:
    """Group rows by their episode, their order kept."""
    groups: dict[int, list[Any]] = defaultdict(list)
    for row in rows:
        groups[row.episode_id].append(row)
    return groups


def by_measure(rows: Iterable[Assessment]) -> list[list[Assessment]]:
    """Group the rows of one episode by measure, in order of its key."""
    groups: dict[str, list[Assessment]] = defaultdict(list)
    for row in rows:
        groups[row.measure].append(row)
    return [groups[key] for key in sorted(groups)]


def assessed(case: Case, weeks: int, row: Assessment) -> Row:
    """Return the facts of one assessment."""
    return {
        "episode_key": case.key,
        "week_window": weeks,
        "measure": row.measure,
        "edition": row.edition,
        "score": row.score,
    }


def verdict(
    case: Case, first: Assessment, row: Assessment, policy: StallPolicy
) -> str | None:
    """Return the verdict on a score against the first of its measure; None for it."""
    if row.pk == first.pk:
        return None
    points = [as_point(first), as_point(row)]
    about = measure(row.measure)
    change = judge(about, points, case=case.episode, policy=policy)
    return change.verdict.value if change else None


def codes_of(course: list[Assessment]) -> dict[str, str]:
    """Give each activity that the person named a code, in order of naming."""
    if not measure(course[0].measure).has_own_items:
        return {}
    numbers = {number for row in course for number in row.answers}
    ordered = sorted(numbers, key=int)
    return {number: f"A{place}" for place, number in enumerate(ordered, start=1)}


def rated(row: Assessment, codes: dict[str, str]) -> str | None:
    """Return the ratings of a person's own activities; their words stay here."""
    given = [
        f"{code}={row.answers[number]}"
        for number, code in codes.items()
        if row.answers.get(number) is not None
    ]
    return " ".join(given) or None


def visited(case: Case, row: Visit) -> Row:
    """Return the row of one appointment."""
    response = getattr(row, "response", None)
    return {
        "episode_key": case.key,
        "week_window": case.window(row.visited_on),
        "attendance": row.attendance,
        "pain_during": response.pain_during if response else None,
        "next_morning": (response.next_morning or None) if response else None,
    }


def prescribed(case: Case, line: Prescription) -> Row:
    """Return the row of one line; what a clinic added itself leaves as a code."""
    return {
        "episode_key": case.key,
        "start_window": case.window(line.starts_on),
        "stop_window": case.window(line.stops_on),
        "exercise": line.exercise or CLINIC_MADE,
        "on_side": line.on_side,
        "sets": line.sets,
        "repetitions": line.repetitions,
        "scheme": " ".join(str(count) for count in line.scheme) or None,
        "hold_seconds": line.hold_seconds,
        "minutes": line.minutes,
        "rest_seconds": line.rest_seconds,
        "load": line.load,
        "load_kg": line.load_kg,
        "load_percent": line.load_percent,
        "times_a_week": line.times_a_week,
        "cuff_percent": line.cuff_percent,
    }
