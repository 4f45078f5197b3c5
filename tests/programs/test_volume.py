"""Volume of a week, its change, and a smaller dose."""

from datetime import date

import pytest

from programs.dosing.no_estimate import NoEstimate
from programs.dosing.volume import (
    SmallerDose,
    Volume,
    VolumeChange,
    Work,
    smaller_dose,
    volume_change,
    volume_of,
    weekly_volume,
)
from tests.programs.vectors import vectors

VECTORS = vectors("volume")
MONDAY = date(2031, 3, 3)


def total(lines: list[list[float]]) -> Volume:
    """Add up lines of sets, repetitions and, where there is one, a load."""
    found = volume_of(Work(MONDAY, *line) for line in lines)
    assert isinstance(found, Volume)
    return found


@pytest.mark.parametrize("row", VECTORS["volumes"], ids=lambda row: row["name"])
def test_volume_has_kg_only_where_every_line_has_a_load(row: dict) -> None:
    found = total(row["lines"])
    assert found == Volume(row["repetitions"], row.get("kg"))


@pytest.mark.parametrize("row", VECTORS["changes"])
def test_a_change_compares_like_with_like(row: dict) -> None:
    found = volume_change(total(row["before"]), total(row["after"]))
    assert isinstance(found, VolumeChange)
    assert found.unit == row["unit"]
    assert found.percent == pytest.approx(row["percent"], abs=1e-4)


@pytest.mark.parametrize("before", [Volume(0, None), Volume(0, 0.0)])
def test_nothing_before_has_no_change_in_per_cent(before: Volume) -> None:
    found = volume_change(before, Volume(30, 1200))
    assert isinstance(found, NoEstimate)
    assert "Nothing was done before" in found.reason


def test_no_load_is_body_weight_and_compared_by_repetitions() -> None:
    bodyweight = total([[3, 10, 0]])
    assert bodyweight == Volume(30, None)
    found = volume_change(bodyweight, Volume(30, 1200))
    assert found == VolumeChange(0.0, 30, 30, "repetitions")


@pytest.mark.parametrize("row", VECTORS["cuts"])
def test_a_cut_takes_sets_first_and_repetitions_else(row: dict) -> None:
    sets, repetitions = row["dose"]
    found = smaller_dose(sets=sets, repetitions=repetitions)
    assert isinstance(found, SmallerDose)
    assert [found.sets, found.repetitions] == row["to"]
    assert 20 <= found.percent <= 30


@pytest.mark.parametrize("row", VECTORS["no_cuts"])
def test_a_cut_without_whole_numbers_gets_a_reason(row: dict) -> None:
    sets, repetitions = row["dose"]
    found = smaller_dose(sets=sets, repetitions=repetitions)
    assert isinstance(found, NoEstimate)
    assert "20 to 30 per cent" in found.reason


@pytest.mark.parametrize(("sets", "repetitions"), [(None, 10), (3, None), (3, 9999)])
def test_no_cut_without_a_dose(sets: int | None, repetitions: int | None) -> None:
    assert isinstance(smaller_dose(sets=sets, repetitions=repetitions), NoEstimate)


def test_weeks_begin_on_monday_and_empty_ones_count_as_zero() -> None:
    weeks = weekly_volume(
        [
            Work(date(2031, 3, 9), 3, 10, 40),  # Sunday of the first week
            Work(date(2031, 3, 3), 3, 10, 40),  # its Monday
            Work(date(2031, 3, 17), 2, 10, 40),
        ]
    )
    assert not isinstance(weeks, NoEstimate)
    assert [(week.week_on, week.volume.repetitions) for week in weeks] == [
        (date(2031, 3, 3), 60),
        (date(2031, 3, 10), 0),
        (date(2031, 3, 17), 20),
    ]


def test_no_work_is_no_week() -> None:
    assert weekly_volume([]) == ()


@pytest.mark.parametrize(
    "line",
    [
        Work(MONDAY, -1, 10),
        Work(MONDAY, 21, 10),
        Work(MONDAY, 3, 201),
        Work(MONDAY, 3, 10, -5),
        Work(MONDAY, 3, 10, 501),
        Work(MONDAY, 3, 10, float("nan")),
    ],
)
def test_a_line_out_of_range_gets_a_reason(line: Work) -> None:
    assert isinstance(volume_of([line]), NoEstimate)
    assert isinstance(weekly_volume([line]), NoEstimate)


def test_volume_says_its_unit() -> None:
    assert total([[3, 10, 40]]).words == "1200 kg in 30 repetitions"
    assert total([[3, 10]]).words == "30 repetitions"
