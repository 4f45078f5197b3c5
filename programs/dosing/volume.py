"""How much was done: volume of a week, its change, and a smaller dose.

Volume is sets x repetitions x load where every line has a load of the same
exercise, else sets x repetitions (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from .limits import DosingPolicy
from .no_estimate import NoEstimate, not_whole, outside, plain

_POLICY = DosingPolicy()
MOST_SETS, MOST_REPETITIONS = 20, 200  # guards against typing errors, assumed


@dataclass(frozen=True, slots=True)
class Work:
    """One exercise as it was done on a day; load in kg, None or 0 without one."""

    done_on: date
    sets: int
    repetitions: int
    load_kg: float | None = None


@dataclass(frozen=True, slots=True)
class Volume:
    """Repetitions in all, and kg lifted in all where every line has a load."""

    repetitions: int
    kg: float | None

    @property
    def words(self) -> str:
        """The volume with its unit."""
        if self.kg is None:
            return f"{self.repetitions} repetitions"
        return f"{plain(self.kg)} kg in {self.repetitions} repetitions"


@dataclass(frozen=True, slots=True)
class WeekVolume:
    """The volume of the week that begins on this Monday."""

    week_on: date
    volume: Volume


@dataclass(frozen=True, slots=True)
class VolumeChange:
    """Change between two volumes in per cent of the first; unit "kg" or repetitions."""

    percent: float
    before: float
    after: float
    unit: str


@dataclass(frozen=True, slots=True)
class SmallerDose:
    """Sets and repetitions after a cut, and the cut in per cent of the volume."""

    sets: int
    repetitions: int
    percent: float


def volume_of(
    lines: Iterable[Work], *, policy: DosingPolicy = _POLICY
) -> Volume | NoEstimate:
    """Add up lines of one exercise; nothing done is a volume of zero."""
    done = [*lines]
    for line in done:
        if refusal := _fault(line, policy):
            return refusal
    repetitions = sum(line.sets * line.repetitions for line in done)
    loads = [
        line.sets * line.repetitions * line.load_kg for line in done if line.load_kg
    ]
    is_loaded = bool(done) and len(loads) == len(done)
    return Volume(repetitions, round(sum(loads), 6) if is_loaded else None)


def weekly_volume(
    lines: Iterable[Work], *, policy: DosingPolicy = _POLICY
) -> tuple[WeekVolume, ...] | NoEstimate:
    """Return every week from the first to the last, empty weeks among them as zero."""
    by_week: dict[date, list[Work]] = {}
    for line in lines:
        by_week.setdefault(_monday(line.done_on), []).append(line)
    weeks = []
    week_on = min(by_week, default=date.max)
    while by_week and week_on <= max(by_week):
        volume = volume_of(by_week.get(week_on, []), policy=policy)
        if isinstance(volume, NoEstimate):
            return volume
        weeks.append(WeekVolume(week_on, volume))
        week_on += timedelta(days=7)
    return tuple(weeks)


def volume_change(before: Volume, after: Volume) -> VolumeChange | NoEstimate:
    """Return the change in per cent, in kg only where both volumes have kg."""
    unit, first, second = (
        "repetitions",
        before.repetitions * 1.0,
        after.repetitions * 1.0,
    )
    if before.kg and after.kg is not None:
        unit, first, second = "kg", before.kg, after.kg
    if first <= 0:
        return NoEstimate(
            "Nothing was done before, so there is no change in per cent.", "before"
        )
    return VolumeChange(100 * (second - first) / first, first, second, unit)


def smaller_dose(
    *, sets: int | None, repetitions: int | None, policy: DosingPolicy = _POLICY
) -> SmallerDose | NoEstimate:
    """Cut whole sets, or else repetitions of each set, by the share of the policy."""
    refusal = not_whole(
        sets, low=1, high=MOST_SETS, what="Sets", field="sets"
    ) or not_whole(
        repetitions,
        low=1,
        high=MOST_REPETITIONS,
        what="Repetitions",
        field="repetitions",
    )
    if refusal or sets is None or repetitions is None:
        return refusal or NoEstimate("Sets and repetitions are needed.", "sets")
    if fewer := _nearest_cut(sets, policy):
        return SmallerDose(fewer, repetitions, 100 * (sets - fewer) / sets)
    if fewer := _nearest_cut(repetitions, policy):
        percent = 100 * (repetitions - fewer) / repetitions
        return SmallerDose(sets, fewer, percent)
    return NoEstimate(
        f"No whole number of sets or repetitions is {policy.cut_least} to "
        f"{policy.cut_most} per cent less.",
        "sets",
    )


def _nearest_cut(number: int, policy: DosingPolicy) -> int | None:
    """Return the whole number whose cut lies in the range, nearest to its middle.

    Of two as near, the larger cut.
    """
    middle = (policy.cut_least + policy.cut_most) / 2
    cuts = {fewer: 100 * (number - fewer) / number for fewer in range(1, number)}
    fitting = [
        fewer
        for fewer, cut in cuts.items()
        if policy.cut_least <= cut <= policy.cut_most
    ]
    return min(fitting, key=lambda fewer: abs(cuts[fewer] - middle), default=None)


def _fault(line: Work, policy: DosingPolicy) -> NoEstimate | None:
    refusal = not_whole(
        line.sets, low=0, high=MOST_SETS, what="Sets", field="sets"
    ) or not_whole(
        line.repetitions,
        low=0,
        high=MOST_REPETITIONS,
        what="Repetitions",
        field="repetitions",
    )
    if refusal or line.load_kg is None:
        return refusal
    most = policy.most_load
    return outside(
        line.load_kg, low=0, high=most, what="Load", unit="kg", field="load_kg"
    )


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())
