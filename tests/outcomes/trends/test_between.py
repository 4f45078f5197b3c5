"""Clinicians on a funnel, and what one of them sees of the others."""

import json
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from outcomes.frames.period import PeriodData
from outcomes.science.policy import StallPolicy
from outcomes.trends.between import build, build_own, standing_choice
from outcomes.trends.own_results import LEAST_COLLEAGUES
from outcomes.trends.reached import counting, early_words
from outcomes.trends.sections import Section

from .period_data import ON, Case, period_data

PEOPLE = {
    1: "Bram Ocketts",
    2: "Juno Pellavar",
    3: "Maud Everlook",
    4: "Ada Quillbrook",
    5: "Ivo Sandmere",
}
# Statistics reference 2.7: a constructed clinic, its results computed.
WORKED = {1: (14, 20), 2: (9, 20), 3: (5, 12), 4: (22, 30), 5: (3, 8), 6: (27, 40)}


def seen(clinician: int, *, reached: int, of: int) -> list[Case]:
    """Make measured cases of a clinician; an important gain is 10 points."""
    return [
        Case(
            clinician=clinician,
            scores=[(0, 50), (84, 70 if number < reached else 52)],
        )
        for number in range(of)
    ]


def clinic(counts: dict[int, tuple[int, int]], **more: Any) -> PeriodData:
    """Make a clinic of (reached, counted) by clinician."""
    cases = [
        case
        for key, (reached, of) in counts.items()
        for case in seen(key, reached=reached, of=of)
    ]
    return period_data(cases, **{"people": PEOPLE | {6: "Tess Norwold"}, **more})


def standing(counts: dict[int, tuple[int, int]], **more: Any) -> PeriodData:
    """Make a clinic of the one period in which colleagues are drawn."""
    choice = standing_choice(StallPolicy(), on=ON)
    return clinic(counts, choice=choice, **more)


def written(section: Section) -> str:
    """Return everything that a section shows, figures and tables included."""
    return repr(section) + json.dumps(
        [block.figure and dict(block.figure.data) for block in section.blocks]
    )


def rows(section: Section) -> list[list[str]]:
    """Return the texts of the first table."""
    return [[cell.text for cell in row] for row in section.blocks[0].table.rows]


def points(section: Section) -> set[str]:
    """Return the names beside the points of the figure."""
    figure = section.blocks[0].figure
    assert figure
    return {name for trace in figure.data["data"] for name in trace.get("text", [])}


def test_the_worked_clinic_lies_inside_in_order_of_name() -> None:
    """80 of 130, all inside 95 %; who has eight cases is a count without a point."""
    section = build(clinic(WORKED))
    block = section.blocks[0]
    assert "80 of 130 (62\u00a0%)" in block.says
    assert "all lie inside" in block.says
    assert "up to 23 of 100" in block.says  # five drawn: .2262
    names = [row[0] for row in rows(section)]
    assert names == sorted(names)
    told = {row[0]: row[1:] for row in rows(section)}
    assert told["Juno Pellavar"][0] == "9 of 20 (45\u00a0%)"
    assert told["Juno Pellavar"][1] == "37\u00a0% to 80\u00a0%"  # .369 to .797
    assert told["Ivo Sandmere"] == ["3 of 8", "–", "–", "fewer than 10: not drawn"]
    assert points(section) == set(PEOPLE.values()) - {"Ivo Sandmere"} | {"Tess Norwold"}


def test_who_lies_beyond_is_named_with_the_side() -> None:
    """Named in words and in the table, with the chance of it."""
    section = build(clinic({1: (39, 40), 2: (26, 40), 3: (27, 40)}))
    figure = section.blocks[0].figure
    assert figure
    assert "Bram Ocketts (beyond 99.8 %, above) lies outside" in section.blocks[0].says
    assert rows(section)[0][-1] == "beyond 99.8 %, above"
    roles = [t["meta"]["role"] for t in figure.data["data"]]
    assert "event" in roles


def test_every_case_of_the_period_is_counted_or_left_out_once() -> None:
    """One knee per person; the rest by reason; the sum is the period."""
    cases = [
        *seen(1, reached=6, of=11),
        Case(patient=1, side="right", scores=[(0, 40), (84, 80)]),
        Case(scores=[]),
        Case(scores=[(0, 50)]),
        Case(opened_on=ON - timedelta(days=20), scores=[(0, 50)]),
        Case(scores=[(0, 98), (84, 100)]),
    ]
    block = build(period_data(cases, declined=2)).blocks[0]
    assert (block.n, block.of) == (11, 16)
    left = {line.words.split(":")[0]: line.count for line in block.left_out}
    assert sum(left.values()) - 2 == 5
    assert left["people who decline the use of their data for audit"] == 2
    section = build(period_data(cases))
    for line in section.blocks[0].left_out:
        assert len(section.sets[line.cases]) == line.count


def test_early_endings_among_the_newest_cases_are_said() -> None:
    """They count while cases opened the same day still wait (right truncation)."""
    new = {"opened_on": ON - timedelta(days=60)}
    ended = {**new, "discharged_on": ON - timedelta(days=10), "reason": "goals met"}
    quick = Case(scores=[(0, 50), (45, 70)], **ended)
    waiting = Case(scores=[(0, 50), (45, 70)], **new)
    for cases, is_said in (([quick, waiting], True), ([quick], False)):
        (block,) = build(period_data([*cases, *seen(1, reached=3, of=5)])).blocks
        found = [note for note in block.notes if "1 counted case of the newest" in note]
        assert bool(found) is is_said
    whole = period_data([quick, waiting, *seen(1, reached=3, of=5)])
    (note,) = early_words(whole, counting(whole.cases).cases)
    assert "ends on 9 Feb 2026 or sooner" in note


def test_each_number_leads_to_its_cases() -> None:
    """The names lead to the counted cases, the shares to those that reached it."""
    section = build(clinic(WORKED))
    for row in section.blocks[0].table.rows:
        reached, of = row[1].text.split(" (")[0].split(" of ")
        assert len(section.sets[row[0].cases]) == int(of)
        assert len(section.sets[row[1].cases]) == int(reached)


STATES = {
    "empty": [],
    "one patient": [Case(scores=[(0, 50), (84, 70)])],
    "all lost": [Case(clinician=k % 3 + 1, scores=[(0, 50)]) for k in range(30)],
    "all at the ceiling": [
        Case(clinician=k % 3 + 1, scores=[(0, 99), (84, 100)]) for k in range(30)
    ],
    "one clinician": seen(1, reached=12, of=20),
}
SAID = {
    "empty": "No case was opened in the period.",
    "one patient": "nobody to compare",
    "all lost": "No case of the period can be counted yet",
    "all at the ceiling": "No case of the period can be counted yet",
    "one clinician": "nobody to compare",
}


@pytest.mark.parametrize("state", STATES)
def test_the_edges_say_something_true(state: str) -> None:
    """No point, no per cent of nothing, and a sentence that says why."""
    section = build(period_data(STATES[state]))
    block = section.blocks[0]
    assert SAID[state] in block.says
    assert block.figure is None
    assert block.n + sum(line.count for line in block.left_out) == block.of
    assert "nan" not in written(section)


def test_all_alike_is_inside() -> None:
    """Where everybody reached it, nobody is beyond."""
    section = build(clinic({1: (20, 20), 2: (12, 12)}))
    assert "all lie inside" in section.blocks[0].says


# My results


@pytest.mark.parametrize("state", STATES)
def test_the_edges_of_ones_own_results(state: str) -> None:
    """The same five states, for a clinician; nobody else is on the page."""
    section = build_own(period_data(STATES[state]), 1)
    block = section.blocks[0]
    assert block.figure is None
    assert len(block.table.rows) == 1
    assert "nan" not in written(section)
    if state in ("empty", "all lost", "all at the ceiling"):
        assert "None of your cases" in block.says


def test_the_own_point_stands_among_points_without_names() -> None:
    """Own name, no other; colleagues by size; below the floor nothing."""
    section = build_own(standing(WORKED), 2)
    text = written(section)
    assert not any(name in text for name in PEOPLE.values())
    assert points(section) == {"You", ""}
    told = rows(section)
    assert told[0][:2] == ["You", "9 of 20 (45\u00a0%)"]
    assert [row[0] for row in told[1:]] == ["A colleague"] * 4
    assert "8" not in {row[1].split(" of ")[-1] for row in told}
    # 77 of 122, without the eight cases of the one who is hidden.
    assert "Over the 5 clinicians drawn it was 63\u00a0%" in section.blocks[0].says


def test_only_ones_own_cases_can_be_traced() -> None:
    """No set holds a colleague's case."""
    data = standing(WORKED)
    mine = set(data.cases.index[data.cases["clinician"] == 2])
    section = build_own(data, 2)
    assert {pk for pks in section.sets.values() for pk in pks} <= mine


def test_few_of_ones_own_are_a_count() -> None:
    """No per cent and no point of eight cases, also among colleagues."""
    section = build_own(standing(WORKED), 5)
    assert "3 of 8 of your cases" in section.blocks[0].says
    assert rows(section)[0][1] == "3 of 8"
    assert points(section) == {""}


def test_with_few_colleagues_one_sees_only_oneself() -> None:
    """Two points would tell each of the two whose the other is."""
    few = {key: WORKED[key] for key in (1, 2, 3, 5)}
    block = build_own(standing(few), 1).blocks[0]
    assert f"Fewer than {LEAST_COLLEAGUES} colleagues" in block.says
    assert block.figure is None
    assert [[cell.text for cell in row] for row in block.table.rows] == [
        ["You", "14 of 20 (70\u00a0%)"]
    ]


HIDDEN = st.lists(
    st.integers(0, 9).flatmap(
        lambda of: st.integers(0, of).map(lambda reached: (reached, of))
    ),
    min_size=2,
    max_size=2,
)


@settings(deadline=None, max_examples=15)
@given(HIDDEN)
def test_an_attacker_learns_nothing_of_who_is_hidden(
    hidden: Sequence[tuple[int, int]],
) -> None:
    """Whatever two hidden colleagues did, every word and number stays the same.

    What does not change with a secret cannot tell it, by subtraction or otherwise.
    """
    shown = {key: WORKED[key] for key in (2, 1, 3, 4)}
    first = build_own(standing({**shown, 7: (1, 5), 8: (9, 9)}), 2)
    other = build_own(standing({**shown, 7: hidden[0], 8: hidden[1]}), 2)
    assert written(first) == written(other)


def test_an_attacker_cannot_subtract_two_periods() -> None:
    """Any other period than the standing one shows no colleague at all."""
    right = standing_choice(StallPolicy(), on=ON)
    assert build_own(standing(WORKED), 2).blocks[0].figure
    for from_on, until_on in (
        (right.from_on, right.until_on - timedelta(days=1)),
        (right.from_on + timedelta(days=1), right.until_on),
        (right.from_on, ON),
    ):
        choice = type(right)(from_on=from_on, until_on=until_on)
        section = build_own(clinic(WORKED, choice=choice), 2)
        assert section.blocks[0].figure is None
        assert len(rows(section)) == 1
        assert "one period only" in section.blocks[0].says
    narrow = type(right)(from_on=right.from_on, until_on=right.until_on, side="left")
    assert len(rows(build_own(clinic(WORKED, choice=narrow), 2))) == 1


@pytest.mark.parametrize(
    ("on", "from_on", "until_on"),
    [
        (date(2026, 6, 1), date(2024, 1, 1), date(2025, 12, 31)),
        (date(2026, 7, 21), date(2024, 4, 1), date(2026, 3, 31)),
        (date(2026, 7, 20), date(2024, 1, 1), date(2025, 12, 31)),
    ],
)
def test_the_standing_period_ends_with_a_settled_quarter(
    on: date, from_on: date, until_on: date
) -> None:
    """Sixteen weeks after its last day every outcome window has closed."""
    found = standing_choice(StallPolicy(), on=on)
    assert (found.from_on, found.until_on) == (from_on, until_on)
    assert on - found.until_on >= timedelta(weeks=16)


def test_names_of_near_points_do_not_meet() -> None:
    """Three clinicians with nearly the same numbers have three places for a name."""
    figure = build(clinic({1: (33, 52), 2: (32, 50), 3: (27, 51)})).blocks[0].figure
    assert figure
    (trace,) = [t for t in figure.data["data"] if t["meta"]["role"] == "case"]
    at = dict(zip(trace["text"], trace["textposition"], strict=True))
    assert at["Juno Pellavar"] != at["Bram Ocketts"]
