"""Charts over the months: frozen limits, complete months, and the edges."""

import json
from collections.abc import Sequence
from datetime import date, timedelta
from statistics import median
from typing import Any

import pytest

from outcomes.frames.period import PeriodData
from outcomes.period_choice import Choice
from outcomes.trends.months import build
from outcomes.trends.months_reference import (
    MEASURED,
    MONTHS_SUBJECTS,
    OPENED,
    SHARE,
    months_reference,
)
from outcomes.trends.sections import Block, Section

from .period_data import ON, Case, period_data

# Statistics reference 2.8: a constructed clinic, its results computed.
SEEN = [12, 15, 10, 14, 18, 11, 13, 16, 12, 15, 14, 17]
REACHED = [7, 9, 5, 8, 12, 3, 8, 10, 8, 9, 9, 16]
OPENED_IN = [12, 10, 14, 11, 13, 9, 12, 15, 10, 12, 13, 11]
YEAR = Choice(from_on=date(2024, 1, 1), until_on=date(2024, 12, 31))


def opened_on(month: int, *, year: int = 2024) -> date:
    """Return a day of each month whose outcome day has a month of its own."""
    return date(year, month, 4)


def worked(reached: Sequence[int], seen: Sequence[int], **more: Any) -> PeriodData:
    """Make a year with so many cases opened a month, and so many that reached it."""
    cases = [
        Case(
            opened_on=opened_on(month),
            scores=[(0, 50), (84, 70 if number < hits else 52)],
        )
        for month, (hits, of) in enumerate(zip(reached, seen, strict=True), 1)
        for number in range(of)
    ]
    return period_data(cases, **{"choice": YEAR, **more})


def frozen(data: PeriodData, *subjects: str) -> dict[str, Any]:
    """Declare the year of some data as the reference of the subjects."""
    return {
        subject: {
            "from_on": data.choice.from_on,
            "until_on": data.choice.until_on,
            "numbers": json.loads(json.dumps(months_reference(data, subject))),
        }
        for subject in subjects
    }


def blocks(section: Section) -> dict[str, Block]:
    """Return the blocks by subject."""
    return dict(zip((SHARE, OPENED, MEASURED), section.blocks, strict=True))


def texts(block: Block) -> list[list[str]]:
    """Return the texts of the table."""
    return [[cell.text for cell in row] for row in block.table.rows]


def roles(block: Block) -> dict[str, Any]:
    """Return the traces of the figure by role."""
    assert block.figure
    return {trace["meta"]["role"]: trace for trace in block.figure.data["data"]}


def test_the_numbers_of_the_worked_year_are_frozen() -> None:
    """104 of 167, and mean 11.8333 with limits 4.3370 to 19.3297 (computed)."""
    share = months_reference(worked(REACHED, SEEN), SHARE)
    assert (share["reached"], share["of"], share["points"]) == (104, 167, 12)
    assert share["centre"] == pytest.approx(0.62275, abs=6e-6)
    assert share["widened"] == 1
    shares = [hits / of for hits, of in zip(REACHED, SEEN, strict=True)]
    assert share["median"] == pytest.approx(median(shares))
    opened = months_reference(worked([5] * 12, OPENED_IN), OPENED)
    assert opened["centre"] == pytest.approx(11.8333, abs=5e-5)
    assert (opened["low"], opened["high"]) == pytest.approx((4.3370, 19.3297), abs=5e-5)
    assert opened["range_high"] == pytest.approx(9.207, abs=5e-4)
    assert months_reference(worked(REACHED, SEEN), MEASURED)["centre"] == 1


def test_large_months_are_widened_and_small_ones_never() -> None:
    """Laney's factor only where each point of the reference is large."""
    reached = [90, 160] * 6
    numbers = months_reference(worked(reached, [210] * 12), SHARE)
    assert numbers["widened"] > 2
    assert months_reference(worked([2, 14] * 6, [16] * 12), SHARE)["widened"] == 1


@pytest.mark.parametrize("subject", MONTHS_SUBJECTS)
def test_a_short_or_narrowed_period_is_no_reference(subject: str) -> None:
    """Twelve complete points, and the whole clinic."""
    short = Choice(from_on=date(2024, 1, 1), until_on=date(2024, 11, 30))
    data = worked(REACHED[:11], SEEN[:11], choice=short)
    with pytest.raises(ValueError, match="needs 12 complete points; this one has 11"):
        months_reference(data, subject)
    side = Choice(from_on=YEAR.from_on, until_on=YEAR.until_on, side="left")
    with pytest.raises(ValueError, match="whole clinic"):
        months_reference(worked(REACHED, SEEN, choice=side), subject)


def test_without_a_reference_there_are_points_and_no_limits() -> None:
    """And a sentence that says how to declare one."""
    for block in build(worked(REACHED, SEEN)).blocks:
        assert "no reference period is declared" in block.says
        assert "limit" not in roles(block)
        assert "baseline" not in roles(block)
        assert {row[-1] for row in texts(block)} <= {"–", "not complete, not judged"}


def test_the_worked_year_lies_inside_its_own_limits() -> None:
    """No month outside three errors; two run limits named; upward limit at 100 %."""
    data = worked(REACHED, SEEN)
    held = worked(REACHED, SEEN, references=frozen(data, SHARE, OPENED, MEASURED))
    block = blocks(build(held))[SHARE]
    assert "In 12 complete points 104 of 167 (62\u00a0%)" in block.says
    assert (
        "Against 62\u00a0% in the reference period, no point lies outside" in block.says
    )
    assert "They show no shift" in block.says
    assert {row[-1] for row in texts(block)} == {"inside"}
    assert any("cannot signal upwards" in note for note in block.notes)
    assert "limit" in roles(block)
    for one in build(held).blocks:
        assert "frozen on the cases opened 1 Jan 2024 to 31 Dec 2024" in one.notes[-1]


def test_later_months_are_held_against_the_frozen_numbers() -> None:
    """A bad month is outside below, however much it would have moved the mean."""
    references = frozen(worked(REACHED, SEEN), SHARE)
    later = worked([1] * 12, [12] * 12, references=references)
    block = blocks(build(later))[SHARE]
    assert "outside" in block.says
    assert "They shifted" in block.says
    assert {row[-1] for row in texts(block)} == {"below the limits"}
    assert len(roles(block)["event"]["x"]) == 12


def test_a_part_of_the_clinic_is_not_held_against_the_whole() -> None:
    """A filter leaves the points and takes the limits."""
    references = frozen(worked(REACHED, SEEN), SHARE, OPENED)
    side = Choice(from_on=YEAR.from_on, until_on=YEAR.until_on, side="left")
    narrow = worked(REACHED, SEEN, references=references, choice=side)
    for block in build(narrow).blocks[:2]:
        assert "of the whole clinic" in block.says
        assert "limit" not in roles(block)


def test_small_months_are_put_together_until_ten() -> None:
    """Four a month: a point for every three months, and one that waits."""
    data = worked([2] * 12, [4] * 12)
    block = blocks(build(data))[SHARE]
    names = [row[0] for row in texts(block)]
    assert len(names) == 4
    assert all(" to " in name for name in names)
    assert {row[1] for row in texts(block)} == {"6 of 12 (50\u00a0%)"}
    eleven = Choice(from_on=YEAR.from_on, until_on=date(2024, 11, 30))
    waiting = blocks(build(worked([2] * 11, [4] * 11, choice=eleven)))[SHARE]
    assert texts(waiting)[-1][1:] == ["4 of 8", "–", "fewer than 10 yet"]
    assert len(roles(waiting)["score"]["x"]) == 3


def recent() -> PeriodData:
    """Make a clinic whose last two months of outcomes are still coming in."""
    cases = [
        Case(
            opened_on=ON - timedelta(weeks=weeks),
            discharged_on=ON - timedelta(days=1),
            scores=[(0, 50), (weeks * 7 - 8, 80)]
            if weeks < 12
            else [(0, 50), (84, 80)],
        )
        for weeks in range(5, 45)
        for _ in range(3)
    ]
    return period_data(cases)


def test_recent_months_are_marked_and_not_judged() -> None:
    """Windows that are still open make a month not complete."""
    block = blocks(build(recent()))[SHARE]
    open_ = [row for row in texts(block) if row[-1] == "not complete, not judged"]
    assert open_
    assert texts(block)[-len(open_) :] == open_
    assert len(roles(block)["case"]["x"]) >= 1
    judged = [row for row in texts(block) if row[-1] == "–"]
    assert f"In {len(judged)} complete points" in block.says


def test_a_month_is_complete_28_days_after_its_last_day() -> None:
    """April 2024 closes on 28 May, when its last outcome window does."""
    cases = [
        Case(opened_on=date(2024, 2, 1), scores=[(0, 50), (84, 70)]) for _ in range(12)
    ]
    for on, judged in ((date(2024, 5, 27), False), (date(2024, 5, 28), True)):
        closed = [
            Case(
                opened_on=case.opened_on,
                scores=case.scores,
                discharged_on=date(2024, 5, 1),
            )
            for case in cases
        ]
        data = period_data(closed, on=on, choice=YEAR)
        (row,) = texts(blocks(build(data))[SHARE])
        assert row[0] == "Apr 2024"
        assert (row[-1] == "not complete, not judged") is not judged


def test_a_month_that_is_not_over_has_no_judgement_of_its_openings() -> None:
    """Nor one that lies partly outside the period."""
    choice = Choice(from_on=date(2026, 3, 10), until_on=ON)
    data = period_data([Case(opened_on=date(2026, 4, 2))], choice=choice)
    rows = texts(blocks(build(data))[OPENED])
    assert [row[0] for row in rows] == ["Mar 2026", "Apr 2026", "May 2026", "Jun 2026"]
    assert [row[-1].startswith("not complete") for row in rows] == [True, 0, 0, True]
    assert [row[2] for row in rows] == ["–", "–", "−1", "–"]


def test_many_openings_and_an_unusual_step_are_told() -> None:
    """Above the frozen limit of 19.33; a step above 9.207."""
    references = frozen(worked([5] * 12, OPENED_IN), OPENED)
    later = worked([1] * 12, [12, 12, 20, 19, 8, *[12] * 7], references=references)
    block = blocks(build(later))[OPENED]
    assert "Mar 2024 (20) lies outside the limits of 4.3 to 19.3" in block.says
    judged = {row[0]: row[-1] for row in texts(block)}
    assert judged["Mar 2024"] == "above the limits"
    assert judged["May 2024"] == "an unusual step"


def test_months_without_any_case_are_not_judged() -> None:
    """A period from before the first record says nothing of few openings."""
    references = frozen(worked(REACHED, OPENED_IN), OPENED)
    early = Choice(from_on=date(2019, 1, 1), until_on=date(2019, 12, 31))
    block = blocks(build(period_data([], choice=early, references=references)))[OPENED]
    assert {row[-1] for row in texts(block)} == {"\N{EN DASH}"}


def test_changes_in_the_clinic_are_flags_and_words() -> None:
    """A change inside the period; the figure carries its words."""
    changes = ((date(2020, 1, 1), "long ago"), (date(2024, 6, 3), "taping for all"))
    section = build(worked(REACHED, SEEN, changes=changes))
    assert roles(section.blocks[0])["flag"]["text"] == ["taping for all"]
    (note,) = [n for n in section.blocks[0].notes if n.startswith("Changes")]
    assert "3 Jun 2024: taping for all" in note
    assert "long ago" not in note


def test_the_lost_are_counted_when_measuring_again() -> None:
    """Half measured, half lost."""
    cases = [
        Case(
            opened_on=opened_on(month),
            scores=[(0, 50), (84, 70)] if number % 2 else [(0, 50)],
        )
        for month in range(1, 13)
        for number in range(12)
    ]
    section = build(period_data(cases, choice=YEAR))
    block = blocks(section)[MEASURED]
    assert {row[1] for row in texts(block)} == {"6 of 12 (50\u00a0%)"}
    assert "72 of 144 (50\u00a0%) were measured again" in block.says
    assert sum(line.count for line in blocks(section)[SHARE].left_out) == 72


def test_every_number_leads_to_its_cases() -> None:
    """The sets hold as many cases as the cells say, for all three."""
    section = build(worked(REACHED, SEEN))
    for subject in (SHARE, MEASURED):
        for row in blocks(section)[subject].table.rows:
            hits, of = row[1].text.split(" (")[0].split(" of ")
            assert len(section.sets.get(row[0].cases, ())) == int(of)
            assert len(section.sets.get(row[1].cases, ())) == int(hits)
    for row in blocks(section)[OPENED].table.rows:
        assert len(section.sets.get(row[1].cases, ())) == int(row[1].text)


STATES = {
    "empty": [],
    "one patient": [Case(scores=[(0, 50), (84, 70)])],
    "all lost": [Case(scores=[(0, 50)]) for _ in range(30)],
    "all at the ceiling": [Case(scores=[(0, 99), (84, 100)]) for _ in range(30)],
    "one clinician": [Case(scores=[(0, 50), (84, 70)]) for _ in range(30)],
}


@pytest.mark.parametrize("state", STATES)
def test_the_edges_say_something_true(state: str) -> None:
    """No share of nothing; every case counted or left out; nothing is 'nan'."""
    data = period_data(STATES[state])
    section = build(data)
    for subject, block in blocks(section).items():
        assert block.says
        assert block.n + sum(line.count for line in block.left_out) == block.of, subject
    assert "nan" not in repr(section)
    share = blocks(section)[SHARE]
    if state == "empty":
        assert share.says.startswith("No case was opened in the period.")
    elif state == "one clinician":
        assert "In 1 complete point 30 of 30 (100\u00a0%)" in share.says
    else:
        assert share.says.startswith("No complete month has 10 cases yet")
    if state == "all lost":
        assert (
            "0 of 30 (0\u00a0%) were measured again" in blocks(section)[MEASURED].says
        )
