"""Response: shares with intervals, size of change, and knees without room."""

import pytest

from outcomes.trends.response import build
from outcomes.trends.sections import Block, Section
from tests.outcomes.group.d12 import BASELINE, FOLLOW_UP
from tests.outcomes.trends.period_data import Case, period_data
from tests.outcomes.trends.traced import check_traced, rows_of

BETTER = ((0, 60), (84, 80))
SAME = ((0, 60), (84, 62))
# A gain of 11 on the AKPS: important (10), within its measurement error (13).
WITHIN_ERROR = ((0, 60), (84, 71))
ONLY_FIRST = ((0, 60),)
REACHED, CHANGE, ROOM = (
    "Reached an important gain",
    "Size of the change",
    "Without room to gain",
)


def section(*cases: Case, declined: int = 0) -> Section:
    """Build the section and hold every number to the cases behind it."""
    found = build(period_data(cases, declined=declined))
    check_traced(found)
    return found


def block(found: Section, title: str) -> Block:
    """Return the block of that title."""
    return next(b for b in found.blocks if b.title == title)


def twelve() -> list[Case]:
    """Return the twelve patients of the test set."""
    pairs = zip(BASELINE, FOLLOW_UP, strict=True)
    return [Case(scores=((0, a), (84, b))) for a, b in pairs]


# Reached


def test_the_test_set() -> None:
    """Computed: 8 of 12 (0.3906 to 0.8619) and 6 of 12 (0.2538 to 0.7462)."""
    found = block(section(*twelve()), REACHED)
    shares = {
        "important gain": ("8 of 12 (67\xa0%)", "39 to 86\xa0%"),
        "important and beyond error": ("6 of 12 (50\xa0%)", "25 to 75\xa0%"),
    }
    assert rows_of(found) == {
        f"AKPS: {name}": [share, ends, share] for name, (share, ends) in shares.items()
    }
    assert "39 to 86\xa0%" in found.says


def test_a_change_within_error_reaches_one_criterion() -> None:
    """Important is less than beyond error on the AKPS."""
    found = rows_of(block(section(Case(scores=WITHIN_ERROR)), REACHED))
    assert found["AKPS: important gain"][0] == "1 of 1"
    assert found["AKPS: important and beyond error"][0] == "0 of 1"


def test_the_lost_stand_in_the_last_denominator() -> None:
    """10 of 12 measured, but 10 of 20 of all due."""
    cases = [Case(scores=BETTER)] * 10 + [Case(scores=SAME)] * 2
    found = block(section(*cases, *[Case(scores=ONLY_FIRST)] * 8), REACHED)
    measured, _, due = rows_of(found)["AKPS: important gain"]
    assert (measured, due) == ("10 of 12 (83\xa0%)", "10 of 20 (50\xa0%)")
    assert [(out.count, out.words) for out in found.left_out] == [
        (8, "lost: due, and not measured then; in the last column alone")
    ]
    assert (found.n, found.of) == (12, 20)


@pytest.mark.parametrize(("of", "is_shown"), [(9, False), (10, True)])
def test_per_cent_interval_and_figure_from_the_floor(
    of: int, *, is_shown: bool
) -> None:
    """Nine cases have counts alone."""
    found = block(section(*[Case(scores=BETTER)] * of), REACHED)
    share, ends, _ = rows_of(found)["AKPS: important gain"]
    assert ("%" in share) is is_shown
    assert (ends != "–") is is_shown
    assert (found.figure is not None) is is_shown
    assert ("So few" in found.says) is not is_shown


def test_one_knee_per_person() -> None:
    """The first opened counts; the second is told apart."""
    found = block(
        section(
            Case(scores=BETTER, patient=7),
            Case(scores=SAME, patient=7, side="right"),
        ),
        REACHED,
    )
    assert rows_of(found)["AKPS: important gain"][0] == "1 of 1"
    assert found.left_out[0].count == 1
    assert any("first opened" in note for note in found.notes)


def test_measures_apart_and_together() -> None:
    """Each measure has its own rows, and all of them one more."""
    cases = [Case(scores=BETTER)] * 6
    cases += [Case(scores=((0, 40), (84, 60)), measure="lefs")] * 6
    found = block(section(*cases), REACHED)
    shares = {name: cells[0] for name, cells in rows_of(found).items()}
    assert shares["All measures: important gain"] == "12 of 12 (100\xa0%)"
    assert shares["LEFS: important gain"] == "6 of 6"
    assert found.figure
    assert len(found.figure.data["data"][0]["x"]) == 2


def test_whiskers_are_the_interval() -> None:
    """The figure holds the numbers of the table."""
    found = block(section(*twelve()), REACHED)
    trace = found.figure.data["data"][0]
    assert trace["x"] == pytest.approx([66.667, 50], abs=0.001)
    low = trace["x"][0] - trace["error_x"]["arrayminus"][0]
    high = trace["x"][0] + trace["error_x"]["array"][0]
    assert (low, high) == pytest.approx((39.06, 86.19), abs=0.01)


# Size of the change


def column(found: Block) -> list[str]:
    """Return the numbers of the only measure, from the top down."""
    return [cells[0] for cells in rows_of(found).values()]


def test_each_measure_has_its_own_column() -> None:
    """Points of two scales never mix."""
    cases = [*twelve(), Case(scores=((0, 40), (84, 60)), measure="lefs")]
    found = block(section(*cases), CHANGE)
    assert found.table.head[1:] == ("AKPS", "LEFS")
    assert rows_of(found)["Knees"] == ["12", "1"]
    assert "AKPS +12 points" in found.says
    assert "LEFS +20 points, n 1" in found.says


def test_change_of_the_test_set() -> None:
    """Computed: the numbers of the statistics reference 2.2 and 2.3, each named."""
    found = block(section(*twelve()), CHANGE)
    assert column(found) == [
        "12",
        "+12",
        "+7 to +16",
        "+7.8, +16",
        "+11.3 (6.8)",
        "+7.0 to +15.5",
        "1.66",
        "1.55",
        "1.48",
    ]
    assert found.says == (
        "Typical change: AKPS +12 points (95 % interval +7 to +16), n 12."
    )
    named = " ".join((*rows_of(found), *found.notes))
    for word in ("Hodges", "Hedges", "Kazis", "linear interpolation"):
        assert word in named


def test_a_loss_is_negative() -> None:
    """Positive is better, and the sign is printed."""
    found = block(section(*[Case(scores=((0, 60), (84, 50)))] * 3), CHANGE)
    assert column(found)[1] == "−10"


def test_few_knees_have_no_interval_and_no_effect_size() -> None:
    """Below the floor a typical change stands alone."""
    found = column(block(section(*twelve()[:9]), CHANGE))
    assert found[0] == "9"
    assert [found[at] for at in (2, 5, 6, 7, 8)] == ["–"] * 5


def test_knees_that_all_gain_alike() -> None:
    """No spread: neither interval nor effect size, and no division by it."""
    found = column(block(section(*[Case(scores=BETTER)] * 12), CHANGE))
    assert found[1:3] == ["+20", "–"]
    assert found[6:] == ["–"] * 3


# Five states


def test_no_case_at_all() -> None:
    """Every block says so."""
    found = section()
    assert [b.says for b in found.blocks] == [
        "No knee with room to gain is due yet.",
        "No knee has an outcome yet, so there is no change to sum up.",
        "No knee has a first score yet.",
    ]
    assert all(b.figure is None and not b.table.rows for b in found.blocks)


def test_one_patient() -> None:
    """Counts, no per cent and no interval."""
    found = section(Case(scores=BETTER))
    assert block(found, REACHED).says == (
        "1 of 1 measured knees reached an important gain, 1 of 1 beyond measurement "
        "error too. So few say little about the clinic."
    )
    assert "\xa0%" not in str([b.table for b in found.blocks])


def test_all_lost() -> None:
    """0 of 0 is no data, not 0 %."""
    found = section(*[Case(scores=ONLY_FIRST)] * 12)
    reached = block(found, REACHED)
    assert reached.says == "12 knees due, none with an outcome."
    assert rows_of(reached)["AKPS: important gain"] == ["–", "–", "0 of 12 (0\xa0%)"]
    assert reached.figure is None


def test_all_at_the_ceiling() -> None:
    """They stand apart, with what was measured of them."""
    found = section(*[Case(scores=((0, 97), (84, 99)))] * 12)
    assert block(found, REACHED).says == "No knee with room to gain is due yet."
    room = block(found, ROOM)
    assert (
        room.says
        == "12 of 12 knees began too near the best score for an important gain."
    )
    assert rows_of(room)["AKPS"] == [
        "10 points",
        "100",
        "12 of 12 (100\xa0%)",
        "12 of 12 (100\xa0%)",
    ]
    assert block(found, CHANGE).n == 12


def test_one_clinician() -> None:
    """The section does not depend on who treated."""
    cases = [Case(scores=BETTER, clinician=2)] * 12
    other = [Case(scores=BETTER, clinician=i % 3 + 1) for i in range(12)]
    assert section(*cases) == section(*other)


def test_people_who_decline_are_counted_as_left_out() -> None:
    """They are in no number of the section but this one."""
    found = block(section(*twelve(), declined=2), REACHED)
    assert (found.left_out[-1].count, found.left_out[-1].cases) == (2, "")
