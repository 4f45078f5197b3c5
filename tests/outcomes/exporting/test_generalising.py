"""Bands and levels of what a stranger may know of somebody."""

from datetime import date
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clinic.screening import age_on
from outcomes.exporting.generalising import (
    AGE_BANDS,
    LEVELS,
    SEXES,
    SIDES,
    Quasi,
    Shown,
    age_band,
    at_level,
)
from outcomes.period_choice import DURATIONS, duration_band

quasis = st.builds(
    Quasi,
    age_band=st.sampled_from(AGE_BANDS),
    sex=st.sampled_from(SEXES),
    side=st.sampled_from(SIDES),
    duration_band=st.sampled_from(DURATIONS),
    year_opened=st.integers(2021, 2024),
    clinician_code=st.sampled_from(("C1", "C2", "C3")),
)


@pytest.mark.parametrize(
    ("years", "band"),
    [
        (0, "under 18"),
        (17, "under 18"),
        (18, "18 to 29"),
        (29, "18 to 29"),
        (30, "30 to 39"),
        (39, "30 to 39"),
        (40, "40 to 49"),
        (49, "40 to 49"),
        (50, "50 and over"),
        (89, "50 and over"),
        (90, "50 and over"),
        (104, "50 and over"),
    ],
)
def test_age_bands_at_their_edges(years: int, band: str) -> None:
    """Bands of the statistics reference 1.3; above 89 no age stands out (1.1, C)."""
    assert age_band(years) == band


@pytest.mark.parametrize(
    ("birth_on", "on", "years"),
    [
        (date(2007, 6, 15), date(2025, 6, 14), 17),
        (date(2007, 6, 15), date(2025, 6, 15), 18),
        (date(1994, 12, 31), date(2024, 12, 30), 29),
        (date(1994, 12, 31), date(2024, 12, 31), 30),
        (date(1934, 12, 31), date(2024, 12, 30), 89),
        (date(1934, 12, 31), date(2024, 12, 31), 90),
        (date(2004, 2, 29), date(2022, 2, 28), 17),
        (date(2004, 2, 29), date(2022, 3, 1), 18),
    ],
)
def test_age_in_whole_years(birth_on: date, on: date, years: int) -> None:
    """The birthday itself counts, the day before does not."""
    assert age_on(birth_on, on) == years


@pytest.mark.parametrize(
    ("months", "band"),
    [
        (0, "under 3 months"),
        (2.999, "under 3 months"),
        (3, "3 to 12 months"),
        (12, "3 to 12 months"),
        (12.001, "over 12 months"),
        (240, "over 12 months"),
    ],
)
def test_duration_bands_at_their_edges(months: float, band: str) -> None:
    """3 and 12 months are inside the middle band."""
    assert duration_band(months) == band


def test_impossible_numbers_are_refused() -> None:
    """An age or a duration below 0 is an error, not a band."""
    for call in (lambda: age_band(-1), lambda: duration_band(float("nan"))):
        with pytest.raises(ValueError):
            call()


def test_the_stated_order_step_by_step() -> None:
    """The order is that of the statistics reference 1.3, the joined bands assumed."""
    quasi = Quasi("18 to 29", "F", "left", "3 to 12 months", 2024, "C2")
    assert [tuple(at_level(quasi, level.number)) for level in LEVELS] == [
        ("18 to 29", "F", "left", "3 to 12 months", "2024", "C2"),
        ("18 to 29", "F", "left", "3 to 12 months", "2024", ""),
        ("18 to 29", "F", "left", "up to 12 months", "2024", ""),
        ("18 to 29", "F", "left", "", "2024", ""),
        ("18 to 29", "F", "", "", "2024", ""),
        ("18 to 39", "F", "", "", "2024", ""),
        ("under 40", "F", "", "", "2024", ""),
        ("under 40", "F", "", "", "", ""),
        ("under 40", "", "", "", "", ""),
    ]


def test_the_last_day_of_a_year_is_of_that_year() -> None:
    """31 December and 1 January are a year apart in the file."""
    years = [
        at_level(Quasi("18 to 29", "F", "left", DURATIONS[0], on.year, "C1"), 0)
        for on in (date(2024, 12, 31), date(2025, 1, 1))
    ]
    assert [shown.year_opened for shown in years] == ["2024", "2025"]


@given(quasis, quasis)
def test_each_level_only_coarsens_the_one_before(one: Quasi, other: Quasi) -> None:
    """Who looks alike at a level looks alike at every later one."""
    for before, after in pairwise(LEVELS):
        if at_level(one, before.number) == at_level(other, before.number):
            assert at_level(one, after.number) == at_level(other, after.number)


@given(st.lists(quasis, min_size=1))
def test_there_are_never_more_classes_at_a_later_level(rows: list[Quasi]) -> None:
    """The number of classes falls or stays."""
    counts = [len({at_level(row, level.number) for row in rows}) for level in LEVELS]
    assert counts == sorted(counts, reverse=True)


def test_no_level_shows_an_age_or_a_day() -> None:
    """What is shown are six bands and codes, nothing else."""
    assert Shown._fields == (
        "age_band",
        "sex",
        "side",
        "duration_band",
        "year_opened",
        "clinician_code",
    )
