"""What a reader of the printed report can work out of clinicians with few cases."""

from collections import defaultdict
from collections.abc import Iterator
from datetime import date
from itertools import product
from typing import Any

import pandas as pd
import pytest

from outcomes.period_choice import Choice
from outcomes.science.group.small_numbers import FLOOR
from outcomes.trends import between
from outcomes.trends.between import OF_ONE, OF_TWO, SHELTERED
from outcomes.trends.reading import SECTIONS
from outcomes.trends.sections import Section
from outcomes.trends.sheltering import TOGETHER, sheltered
from outcomes.trends.units import Unit

from .period_data import ON
from .test_adjusted import reference
from .test_between import clinic

Counts = tuple[int, ...]


def unit(key: int, reached: int, of: int) -> Unit:
    """Make a clinician with so many cases."""
    return Unit(key, f"Clinician {key}", pd.RangeIndex(of), pd.RangeIndex(reached))


UNITS = {(key, of): unit(key, 0, of) for key in (1, 2, 3, 4) for of in range(31)}


def printed(counts: Counts) -> tuple[Any, ...]:
    """Return what the sheet tells: who stands alone with how many, and the sum."""
    units = [UNITS[key, of] for key, of in enumerate(counts, 1)]
    return tuple(sorted((one.key, one.count.of) for one in sheltered(units)))


def worlds(clinicians: int, most: int) -> dict[Any, list[Counts]]:
    """Return every caseload of so many clinicians, by what is printed of it."""
    found = defaultdict(list)
    for counts in product(range(most + 1), repeat=clinicians):
        found[printed(counts)].append(counts)
    return found


def few_and_hidden(counts: Counts) -> Iterator[int]:
    """Yield the places of clinicians below the floor; nobody's zero is a secret."""
    yield from (at for at, of in enumerate(counts) if 0 < of < FLOOR)


@pytest.mark.parametrize(("clinicians", "most"), [(2, 30), (3, 20), (4, 11)])
def test_no_reader_can_work_out_a_small_caseload(clinicians: int, most: int) -> None:
    """Of every caseload that prints the same, at least two differ in each hidden one.

    The reader knows the rule by which clinicians are put together. With a single one
    who has cases there is nobody to stand with: the clinic's total is theirs.
    """
    for sheet, alike in worlds(clinicians, most).items():
        for counts in alike:
            if sum(of > 0 for of in counts) < 2:
                continue
            for at in few_and_hidden(counts):
                assert at + 1 not in dict(sheet)
                assert len({other[at] for other in alike}) > 1, counts


@pytest.mark.parametrize(("clinicians", "most"), [(3, 20), (4, 11)])
def test_nor_can_one_of_those_put_together(clinicians: int, most: int) -> None:
    """A clinician who takes their own cases off the sum is left with two or more.

    In a clinic where two have cases nothing can keep that from them; the report says
    so (OF_TWO).
    """
    for alike in worlds(clinicians, most).values():
        by_own = [defaultdict(set) for _ in range(clinicians)]
        for counts in alike:
            for own, group in enumerate(by_own):
                group[counts[own]].add(counts)
        for counts in alike:
            if sum(of > 0 for of in counts) < 3:
                continue
            for at, own in product(few_and_hidden(counts), range(clinicians)):
                if own != at:
                    kept = {other[at] for other in by_own[own][counts[own]]}
                    assert len(kept) > 1, (counts, own, at)


@pytest.mark.parametrize("reached", range(1, 15))
def test_how_many_of_few_reached_it_stays_open(reached: int) -> None:
    """Every way to share out counts and successes that the sheet allows is tried."""
    sizes = (4, 5, 6)
    ways = [
        (of, hit)
        for of in product(range(1, FLOOR), repeat=3)
        if sum(of) == sum(sizes)
        for hit in product(*(range(n + 1) for n in of))
        if sum(hit) == reached
    ]
    for at in range(3):
        assert len({(of[at], hit[at]) for of, hit in ways}) > 1
        assert len({hit[at] for _, hit in ways}) > 1
    met = (2, 1, min(6, reached))
    found = sheltered([unit(k, met[k - 1], sizes[k - 1]) for k in (1, 2, 3)])
    assert [(one.key, one.count.of) for one in found] == [(TOGETHER, 15)]


def test_what_hides_a_clinician_for_one_measure_hides_them_everywhere() -> None:
    """Somebody with cases enough by one measure, who has few that count elsewhere."""
    units = [unit(1, 5, 20), unit(2, 9, 30), unit(3, 2, 25), unit(4, 2, 40)]
    found = sheltered(units, also={2})
    assert [(one.key, one.count.of) for one in found] == [(4, 40), (TOGETHER, 75)]


HIDDEN = {2: "Juno Pellavar", 3: "Maud Everlook"}


def report(**more: Any) -> list[Section]:
    """Return the whole printed report of a clinic where two have few cases."""
    data = clinic(
        {1: (14, 20), 2: (3, 7), 3: (4, 8), 4: (12, 30), 5: (20, 31)},
        references=reference(),
        **more,
    )
    return [entry.build(data, is_shared=True) for entry in SECTIONS.values()]


def test_no_section_of_the_report_names_who_is_hidden() -> None:
    """Neither a table, a figure, a sentence nor the name of a set of cases."""
    sections = report()
    written = repr(sections)
    for key, name in HIDDEN.items():
        assert name not in written
        assert not any(f"clinician_{key}" in s.sets for s in sections)
        assert not any(f"counted_{key}" in s.sets for s in sections)
    assert "Ada Quillbrook" in written


def test_the_sections_put_the_same_people_together() -> None:
    """Else one section could be taken off another."""
    found = {section.key: section for section in report()}
    tables = [
        block.table
        for key in ("adjusted", "clinicians")
        for block in found[key].blocks
        if block.table.head[0] == "Clinician"
    ]
    rows = [[row[0].text for row in table.rows] for table in tables]
    assert len(rows) == 2
    assert rows[0] == rows[1]
    assert rows[0][-1] == "3 clinicians together"


def test_the_report_says_whom_it_may_be_given_to() -> None:
    """Of one clinician, of two, and of more."""
    of_one = Choice(from_on=date(2025, 1, 1), until_on=ON, clinician=1)
    for data, words in (
        (clinic({1: (3, 7)}), OF_ONE),
        (clinic({1: (3, 7)}, choice=of_one), OF_ONE),
        (clinic({1: (3, 7), 2: (9, 20)}), OF_TWO),
        (clinic({1: (3, 7), 2: (9, 20), 3: (1, 12)}), SHELTERED),
    ):
        assert words in between.build_shared(data).cautions
