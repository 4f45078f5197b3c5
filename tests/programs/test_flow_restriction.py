"""Flow restriction: load, cuff pressure from a measured limb, time and frequency."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs.dosing.flow_restriction import (
    SCHEME,
    CuffPressure,
    Occlusion,
    TimeInflated,
    cuff_pressure,
    flow_load,
    time_inflated,
    weekly_frequency,
)
from programs.dosing.limits import DosingPolicy
from programs.dosing.loading import Plates, TargetLoad
from programs.dosing.no_estimate import NoEstimate
from tests.programs.vectors import vectors

VECTORS = vectors("flow_restriction")
DAY = date(2031, 3, 3)


def occlusion(
    mmhg: float, *, side: str = "left", is_measured: bool = True
) -> Occlusion:
    """Give an occlusion pressure of the left thigh."""
    return Occlusion(mmhg, side, DAY, is_measured)


def pressure(mmhg: float, percent: float | None) -> CuffPressure | NoEstimate:
    """Give the cuff pressure of the left limb."""
    return cuff_pressure(occlusion=occlusion(mmhg), percent=percent, side="left")


@pytest.mark.parametrize("row", VECTORS["pressures"])
def test_the_pressure_is_a_share_of_the_measured_one(row: dict) -> None:
    found = pressure(row["occlusion"], row["percent"])
    assert isinstance(found, CuffPressure)
    assert found.mmhg == row["mmhg"]


@pytest.mark.parametrize("row", VECTORS["no_pressures"])
def test_a_share_or_pressure_out_of_range_gets_a_reason(row: dict) -> None:
    found = pressure(row["occlusion"], row["percent"])
    assert isinstance(found, NoEstimate)
    assert row["says"] in found.reason


@pytest.mark.parametrize("given_occlusion", [None, occlusion(195, is_measured=False)])
def test_only_a_measured_occlusion_gives_a_pressure(
    given_occlusion: Occlusion | None,
) -> None:
    found = cuff_pressure(occlusion=given_occlusion, percent=60, side="left")
    assert isinstance(found, NoEstimate)
    assert "must be measured on this limb" in found.reason


def test_the_other_limbs_pressure_does_not_count() -> None:
    found = cuff_pressure(
        occlusion=occlusion(195, side="right"), percent=60, side="left"
    )
    assert found == NoEstimate("It was measured on the other limb.", "occlusion")


@pytest.mark.parametrize("row", VECTORS["loads"])
def test_the_load_is_a_low_share_of_the_maximum(row: dict) -> None:
    found = flow_load(
        one_rm_kg=row["one_rm"], percent=row["percent"], plates=Plates(row["plate"])
    )
    assert isinstance(found, TargetLoad)
    assert found.kg == pytest.approx(row["kg"])


@pytest.mark.parametrize("row", VECTORS["no_loads"])
def test_a_load_outside_the_range_gets_a_reason(row: dict) -> None:
    found = flow_load(one_rm_kg=row["one_rm"], percent=row["percent"], plates=Plates(1))
    assert isinstance(found, NoEstimate)
    assert row["says"] in found.reason


def test_the_scheme_is_seventy_five_repetitions() -> None:
    """30-15-15-15: Patterson 2019, read in summaries."""
    assert SCHEME == (30, 15, 15, 15)
    assert sum(SCHEME) == 75


@pytest.mark.parametrize("row", VECTORS["times"])
def test_time_inflated_counts_sets_and_rests(row: dict) -> None:
    found = time_inflated(rest_seconds=row["rest"])
    assert isinstance(found, TimeInflated)
    assert found.seconds == row["seconds"]
    assert found.minutes < 20


@pytest.mark.parametrize("row", VECTORS["no_times"])
def test_a_rest_out_of_range_gets_a_reason(row: dict) -> None:
    found = time_inflated(rest_seconds=row["rest"])
    assert isinstance(found, NoEstimate)
    assert row["says"] in found.reason


def test_the_cuff_is_inflated_for_less_than_the_limit() -> None:
    """At the limit is too long: 75 x 4 + 3 x 40 s are exactly 7 minutes."""
    at_limit = DosingPolicy.from_values({"flow_minutes": 7})
    found = time_inflated(rest_seconds=40, policy=at_limit)
    assert isinstance(found, NoEstimate)
    assert "7 minutes; it must be less than 7" in found.reason
    assert isinstance(time_inflated(rest_seconds=39, policy=at_limit), TimeInflated)


@pytest.mark.parametrize("sessions", [2, 3])
def test_two_or_three_sessions_a_week(sessions: int) -> None:
    assert weekly_frequency(sessions) == sessions


@pytest.mark.parametrize("sessions", [None, 0, 1, 4, 2.5])
def test_other_frequencies_get_a_reason(sessions: int | None) -> None:
    assert isinstance(weekly_frequency(sessions), NoEstimate)


@given(mmhg=st.integers(80, 300), percent=st.integers(40, 80))
def test_the_pressure_never_exceeds_its_share(mmhg: int, percent: int) -> None:
    found = pressure(mmhg, percent)
    assert isinstance(found, CuffPressure)
    assert found.mmhg * 100 <= mmhg * percent < (found.mmhg + 1) * 100
