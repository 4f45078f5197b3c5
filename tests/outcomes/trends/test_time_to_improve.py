"""How soon improvement is seen: ends and weeks, shares, and the five bare states.

AKPS throughout; its important change is 10 points (see its file of numbers).
"""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from outcomes.science.group.time_to import CENSORED, COMPETING, EVENT
from outcomes.trends.ends import counted_cases, ends_of
from outcomes.trends.sections import Block, Section
from outcomes.trends.time_to_improve import build
from tests.outcomes.trends.period_data import ON, Case, period_data

OPENED = date(2025, 9, 1)


def case(*scores: tuple[int, float], left: int | None = None, **more: Any) -> Case:
    """Return a case opened long ago; `left` is its last day, after opening."""
    ended = None if left is None else OPENED + timedelta(days=left)
    reason = "stopped attending" if ended else ""
    stated = {"opened_on": OPENED, "discharged_on": ended, "reason": reason}
    return Case(scores=scores, **{**stated, **more})


def end_of(one: Case, *, is_confirmed: bool = False, on: date = ON) -> tuple[int, int]:
    """Return week and end of a single case."""
    data = period_data([one], on=on)
    ends = ends_of(data, counted_cases(data.cases), is_confirmed=is_confirmed)
    return int(ends["week"].iloc[0]), int(ends["end"].iloc[0])


def by_week(block: Block) -> dict[str, list[str]]:
    """Return the table of a block, by the text of each row's first cell."""
    return {row[0].text: [cell.text for cell in row[1:]] for row in block.table.rows}


# Ends


@pytest.mark.parametrize(
    ("one", "first", "strict"),
    [
        # A gain of 9 is none, of 10 is one; day 43 is in week 7.
        (case((0, 60), (21, 69), (43, 70), (84, 75)), (7, EVENT), (12, EVENT)),
        # One good score that the next does not confirm, then two that do.
        (
            case((0, 60), (21, 72), (42, 65), (63, 71), (84, 74)),
            (3, EVENT),
            (12, EVENT),
        ),
        # Seen at the last score, then discharged: unconfirmed, so left first.
        (case((0, 60), (42, 72), left=50), (6, EVENT), (8, COMPETING)),
        (case((0, 60), (42, 62), left=43), (7, COMPETING), (7, COMPETING)),
        # Still in care after the time for the outcome, and no score in it: lost.
        (case((0, 60), (21, 62)), (3, COMPETING), (3, COMPETING)),
        # Still in care and measured without improvement: followed to the last score.
        (case((0, 60), (84, 62)), (12, CENSORED), (12, CENSORED)),
        # Weeks count from the first score, not from opening.
        (case((7, 60), (28, 75), (35, 75)), (3, EVENT), (4, EVENT)),
        # Nothing after the first score and gone: left.
        (case((0, 60), left=30), (5, COMPETING), (5, COMPETING)),
    ],
)
def test_how_a_wait_ends(
    one: Case, first: tuple[int, int], strict: tuple[int, int]
) -> None:
    """Worked by hand, for the plain and for the stricter curve."""
    assert end_of(one) == first
    assert end_of(one, is_confirmed=True) == strict


def test_a_case_under_way_is_followed_to_its_last_score() -> None:
    """Its outcome is not due, so it is not lost."""
    young = case((0, 60), (21, 62))
    assert end_of(young, on=OPENED + timedelta(days=40)) == (3, CENSORED)


def test_a_score_after_the_last_day_of_care_does_not_count() -> None:
    """Improvement seen after discharge is not the end of this wait."""
    assert end_of(case((0, 60), (84, 80), left=60)) == (9, COMPETING)


# The section


def caseload() -> list[Case]:
    """Twenty cases: 8 improve by week 6, 4 by week 12, 4 leave in week 4, 4 wait."""
    return [
        *(case((0, 60), (42, 75), (84, 76)) for _ in range(8)),
        *(case((0, 60), (42, 65), (84, 76)) for _ in range(4)),
        *(case((0, 60), left=25) for _ in range(4)),
        *(case((0, 60), (42, 65), (84, 66)) for _ in range(4)),
    ]


def test_shares_by_week_with_hand_worked_numbers() -> None:
    """No censoring before week 12, so the shares are plain fractions of 20."""
    block = build(period_data(caseload())).blocks[0]
    rows = by_week(block)
    assert rows["Week 3"][:2] == ["20", "0"]
    assert rows["Week 6"][:3] == ["16", "8", "40\N{NO-BREAK SPACE}%"]
    assert rows["Week 6"][4:] == ["4", "20\N{NO-BREAK SPACE}%", "40\N{NO-BREAK SPACE}%"]
    assert rows["Week 12"][:3] == ["8", "12", "60\N{NO-BREAK SPACE}%"]
    assert "Half had one by week 12" in block.says
    assert (block.n, block.of) == (20, 20)
    assert block.figure


def test_the_stricter_curve_is_never_above() -> None:
    """8 are confirmed in week 12; 4 improved at their last score only."""
    first, strict, _ = build(period_data(caseload())).blocks
    assert by_week(strict)["Week 6"][1] == "0"
    assert by_week(strict)["Week 12"][1] == "8"
    assert by_week(first)["Week 12"][1] == "12"


def test_every_number_leads_to_its_cases() -> None:
    """Each set that a cell names is as long as the cell says."""
    section = build(period_data(caseload()))
    for block in section.blocks:
        for row in block.table.rows:
            for cell in row:
                if cell.cases:
                    assert len(section.sets[cell.cases]) == int(cell.text)
        for left in block.left_out:
            assert len(section.sets[left.cases]) == left.count
    assert section.sets["first_left_6"] == (13, 14, 15, 16)
    assert section.sets["left_stopped_attending"] == (13, 14, 15, 16)


def test_the_curve_stops_where_fewer_than_five_remain() -> None:
    """Twelve cases, of whom four are followed past week 6."""
    cases = [case((0, 60), (42, 65), left=43)] * 8 + [case((0, 60), (84, 65))] * 4
    block = build(period_data(cases)).blocks[0]
    rows = by_week(block)
    assert rows["Week 9"][0] == "4"
    assert rows["Week 9"][2] == "\N{EN DASH}"
    assert any("end with week 7" in note for note in block.notes)
    assert block.figure
    assert max(block.figure.data["data"][-1]["x"]) == 7


def test_a_median_that_is_not_reached_is_said_so() -> None:
    """Twelve cases, three of whom improve."""
    cases = [case((0, 60), (84, 75))] * 3 + [case((0, 60), (84, 65))] * 9
    block = build(period_data(cases)).blocks[0]
    assert "not reached" in block.says


def test_below_the_floor_there_are_counts_alone() -> None:
    """Nine cases: no share, no limits, no curve."""
    block = build(period_data([case((0, 60), (42, 75))] * 9)).blocks[0]
    assert block.says == "An important gain was seen in 9 of 9 cases so far."
    assert block.figure is None
    assert "%" not in " ".join(cell.text for row in block.table.rows for cell in row)


def test_one_knee_of_a_person_counts() -> None:
    """The second knee is left out and counted as such."""
    cases = [case((0, 60), (42, 75), patient=7) for _ in range(2)]
    block = build(period_data(cases)).blocks[0]
    assert block.n == 1
    assert [left.count for left in block.left_out] == [1]


def test_cautions_say_that_leaving_is_not_chance() -> None:
    """Discharge because somebody improved, or no longer does, is informative."""
    section = build(period_data(caseload()))
    assert "because they gained" in section.cautions[0]
    assert any(
        "between that score and the one before" in n for n in section.blocks[0].notes
    )


# The five bare states


def empty() -> Section:
    """No case at all."""
    return build(period_data([]))


def test_an_empty_clinic() -> None:
    """It says that there is nobody to follow."""
    for block in empty().blocks[:2]:
        assert block.says.startswith("No case of this choice")
        assert (block.n, block.of, block.table.rows) == (0, 0, ())
    assert empty().blocks[2].says.startswith("Nobody left")


def test_one_patient() -> None:
    """One case improves; no share of one is drawn."""
    block = build(period_data([case((0, 60), (42, 75))])).blocks[0]
    assert block.says == "An important gain was seen in 1 of 1 case so far."


def test_all_lost() -> None:
    """Twelve cases without a second score: nobody improved, all left."""
    section = build(period_data([case((0, 60), left=40)] * 12))
    assert "was seen in 0" in section.blocks[0].says
    assert "not reached" in section.blocks[0].says
    assert section.blocks[2].says.startswith("12 cases left")
    lost = build(period_data([case((0, 60))] * 12))
    assert lost.sets["left_lost_to_measurement"] == tuple(range(1, 13))


def test_all_at_the_ceiling() -> None:
    """From 95 nobody can gain 10: all are left out, with their reason."""
    section = build(period_data([case((0, 95), (84, 100))] * 12))
    block = section.blocks[0]
    assert block.n == 0
    assert [left.count for left in block.left_out] == [12]
    assert block.says.startswith("No case of this choice")


def test_one_clinician() -> None:
    """Nothing of it depends on who treats: one or three, the tables are the same."""
    several = [replace(one, clinician=n % 3 + 1) for n, one in enumerate(caseload())]
    alone, shared = (build(period_data(cases)) for cases in (caseload(), several))
    assert alone.blocks[0].table == shared.blocks[0].table
