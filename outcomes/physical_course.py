"""The physical tests of a case in days: both sides, symmetry, torque, in words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from clinic.models import Episode
from clinic.templatetags.clinic_format import day

from .models import PhysicalResult
from .physical_recording import sides_of
from .science.phrases import number_words
from .science.physical_file import physical_tests
from .science.physical_tests import (
    NoResult,
    PhysicalTest,
    Symmetry,
    Torque,
    limb_symmetry,
    torque,
)

NOT_DONE = "–"


@dataclass(frozen=True, slots=True)
class PhysicalDay:
    """One test on one day: a result by side, and the index side against the other."""

    about: PhysicalTest
    on: date
    results: dict[str, PhysicalResult]
    symmetry: Symmetry | NoResult

    def of(self, side: str) -> PhysicalResult | None:
        """Return the result of a side, or None where it was not tested."""
        return self.results.get(side)

    @property
    def untested(self) -> tuple[str, ...]:
        """The sides that were left out that day."""
        return tuple(s for s in sides_of(self.about) if s not in self.results)

    @property
    def how(self) -> str:
        """How it was done, in the words kept with the results."""
        said = dict.fromkeys(r.done_how for r in self.results.values() if r.done_how)
        return "; ".join(said)

    @property
    def lines(self) -> list[ResultLine]:
        """Every result with its words, for the page."""
        return [ResultLine(row, self.about) for row in self.results.values()]

    @property
    def sentence(self) -> str:
        """Both sides, then the symmetry or why there is none."""
        parts = [
            f"{f'{side} ' if side else ''}{result_words(self.about, self.of(side))}"
            for side in sides_of(self.about)
            if side in self.results
        ]
        said = [f"{self.about.short_name}, {day(self.on)}: {', '.join(parts)}."]
        said += [f"The {side} side was not tested." for side in self.untested]
        said += [
            f"The {side} side has no result: {row.no_value_reason}"
            for side, row in self.results.items()
            if row.value is None
        ]
        if isinstance(self.symmetry, Symmetry):
            said.append(self.symmetry.sentence)
        return " ".join(said)


@dataclass(frozen=True, slots=True)
class ResultLine:
    """One result as it was entered: trials, arm, weight, pain, how it was done."""

    result: PhysicalResult
    about: PhysicalTest

    @property
    def words(self) -> str:
        """The result in the test's own unit."""
        return result_words(self.about, self.result)

    @property
    def entered(self) -> str:
        """The trials as the device showed them, and what was told with them."""
        row = self.result
        trials = ", ".join(
            number_words(trial["value"], decimals=2)
            + (" (stopped by pain)" if trial["is_stopped_by_pain"] else "")
            for trial in row.trials
        )
        said = [f"{trials} {row.unit}"]
        if row.lever_arm_m is not None:
            said.append(f"lever arm {number_words(row.lever_arm_m * 100)} cm")
        if row.body_kg is not None:
            said.append(f"body weight {number_words(row.body_kg)} kg")
        if row.pain is not None:
            said.append(f"pain {row.pain} of 10")
        return "; ".join(said)


def result_words(about: PhysicalTest, row: PhysicalResult | None) -> str:
    """Return a result with its unit."""
    if row is None:
        return NOT_DONE
    if row.value is None:
        return "no result"
    if about.quantity == "rating":
        return f"{number_words(row.value)} of {about.high:g}"
    return f"{number_words(row.value)} {about.unit}"


def torque_of(about: PhysicalTest, row: PhysicalResult | None) -> Torque | None:
    """Return the torque where force and lever arm are known."""
    if row is None or row.value is None or about.lever_arm is None:
        return None
    found = torque(
        about, force_n=row.value, lever_arm_m=row.lever_arm_m, body_kg=row.body_kg
    )
    return found if isinstance(found, Torque) else None


def symmetry_of(
    about: PhysicalTest, results: dict[str, PhysicalResult], *, index: str
) -> Symmetry | NoResult:
    """Compare the sides: by torque where both lever arms are known, else by result.

    With one arm missing the forces are compared, as if the pads sat alike.
    """
    other = "right" if index == "left" else "left"
    mine, theirs = results.get(index), results.get(other)
    turned = (torque_of(about, mine), torque_of(about, theirs))
    if turned[0] and turned[1]:
        return limb_symmetry(about, index_side=turned[0].nm, other_side=turned[1].nm)
    return limb_symmetry(
        about,
        index_side=mine.value if mine else None,
        other_side=theirs.value if theirs else None,
    )


def physical_days(
    rows: Iterable[PhysicalResult], *, index: str
) -> dict[str, list[PhysicalDay]]:
    """Return the days of every test that was done, oldest first, in catalogue order."""
    found: dict[str, dict[date, dict[str, PhysicalResult]]] = {}
    for row in rows:
        found.setdefault(row.test, {}).setdefault(row.tested_on, {})[row.side] = row
    return {
        key: [_day(about, on, found[key][on], index=index) for on in sorted(found[key])]
        for key, about in physical_tests().items()
        if key in found
    }


def _day(
    about: PhysicalTest,
    on: date,
    results: dict[str, PhysicalResult],
    *,
    index: str,
) -> PhysicalDay:
    in_order = {side: results[side] for side in sorted(results)}
    return PhysicalDay(about, on, in_order, symmetry_of(about, in_order, index=index))


def results_of(episode: Episode) -> Sequence[PhysicalResult]:
    """Return what stands in the case, oldest first; one query."""
    rows = PhysicalResult.objects.standing().of_episode(episode).in_order()
    return list(rows.select_related("recorded_by"))
