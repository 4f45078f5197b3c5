"""Stalled cases: every number said truly, whatever the caseload looks like."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

import pandas as pd
import pytest

from outcomes.science.rules import Rule
from outcomes.trends.after_review import first_reviews
from outcomes.trends.sections import Block, Section
from outcomes.trends.stalled import build
from tests.outcomes.trends.period_data import ON, Case, period_data

OPENED_ON = date(2026, 1, 5)
CAUSAL = ("because", "effect", "led to", "caused", "thanks to", "due to", "worked")


def flags(*rows: tuple[int, str, int, bool]) -> pd.DataFrame:
    """Return findings as (episode, rule, days, is_resting)."""
    on = pd.Timestamp(ON)
    columns = ["episode", "rule", "title", "since", "is_resting", "days"]
    told = [
        (case, rule, Rule[rule.upper()].title, on - timedelta(days), rests, float(days))
        for case, rule, days, rests in rows
    ]
    return pd.DataFrame(told, columns=columns)


def reviews(*rows: tuple[int, int, str, Sequence[str]]) -> pd.DataFrame:
    """Return reviews as (episode, day after opening, decision, findings)."""
    opened = pd.Timestamp(OPENED_ON)
    frame = pd.DataFrame(
        [
            {
                "episode": case,
                "reviewed_on": opened + timedelta(day),
                "decision": decision,
                "look_again_on": opened + timedelta(day + 21),
                "findings": list(findings),
                "weeks": day / 7,
            }
            for case, day, decision, findings in rows
        ]
    )
    return frame.sort_values("reviewed_on", ignore_index=True)


def section(cases: Sequence[Case], **more: Any) -> Section:
    """Build the section for hand-made cases, all opened on one day."""
    return build(period_data(cases, **more))


def case(*scores: tuple[int, float], **more: Any) -> Case:
    """Return a case with (day, AKPS) pairs."""
    return Case(opened_on=OPENED_ON, scores=scores, **more)


def row(block: Block, heading: str) -> list[str]:
    """Return the texts of a row."""
    return next(
        [cell.text for cell in cells[1:]]
        for cells in block.table.rows
        if cells[0].text == heading
    )


# What asks for a review


def test_flagged_cases_count_once_in_the_total() -> None:
    """Rows by finding, in the order of rank; a resting case stands apart."""
    found = section(
        [case((0, 60)) for _ in range(12)],
        flags=flags(
            (1, "worsening", 10, False),
            (1, "not_seen", 30, False),
            (2, "worsening", 20, False),
            (3, "not_seen", 7, True),
        ),
    )
    block = found.blocks[0]
    assert block.says == (
        "2 of 12 (17\N{NO-BREAK SPACE}%) cases in care ask for a review today; "
        "1 more rests after a decision."
    )
    assert (block.n, block.of) == (3, 12)
    assert row(block, "Worsening") == ["2", "0", "15 (10 to 20)"]
    assert row(block, "Not seen") == ["2", "1", "18.5 (7 to 30)"]
    # The total takes each case's longest-standing finding: 30, 20 and 7 days.
    assert row(block, "Any finding") == ["3", "1", "20 (7 to 30)"]
    assert found.sets["flag_worsening"] == (1, 2)


def test_a_discharged_case_is_not_flagged() -> None:
    """Findings are of cases in care; the others are counted as left out."""
    ended = case((0, 60), discharged_on=date(2026, 3, 1), reason="goals met")
    block = section([ended], flags=flags((1, "not_seen", 7, False))).blocks[0]
    assert block.says == "No case of the period is in care."
    assert [(left.count, left.cases) for left in block.left_out] == [(1, "discharged")]


# What was decided


def test_reviews_are_counted_by_decision_and_by_finding() -> None:
    """Two reviews of one case are two reviews and one case."""
    found = section(
        [case((0, 60)), case((0, 60))],
        reviews=reviews(
            (1, 42, "continue", ["not_seen"]),
            (1, 63, "change", ["worsening", "not_seen"]),
            (2, 42, "change", []),
        ),
    )
    decided, seen = found.blocks[1], found.blocks[2]
    assert decided.says == "3 reviews were made, in 2 of 2 cases of the period."
    assert row(decided, "Change the programme") == ["2", "2", "7.5 (6 to 9)"]
    assert row(decided, "All reviews") == ["3", "2", "6 (6 to 9)"]
    assert row(seen, "Not seen") == ["1", "1", "1", "0", "0", "0"]
    assert (seen.n, seen.of) == (1, 2)
    assert seen.says == "Most often found: not seen (2 reviews)."


# What happened next. The important gain of the AKPS is 10 points in the policy.

WAYS = {
    "reached at the first later score": case((0, 60), (40, 60), (56, 70), (70, 90)),
    "reached only at a later score": case((0, 60), (40, 60), (56, 69), (70, 70)),
    "measured since, not reached": case((0, 60), (40, 60), (56, 69), (70, 65)),
    "not measured since": case((0, 60), (40, 60)),
    "no score up to the review": case((50, 60), (70, 80)),
    "no room for an important gain at the review": case((0, 80), (40, 95), (56, 97)),
}


@pytest.mark.parametrize("way", WAYS)
def test_a_case_goes_on_in_one_of_these_ways(way: str) -> None:
    """From the last score up to the review, not from the start of care."""
    data = period_data([WAYS[way]], reviews=reviews((1, 42, "change", [])))
    assert first_reviews(data)["after"].tolist() == [way]


def test_a_score_of_the_day_of_the_review_is_before_it() -> None:
    """The review was made with it at hand."""
    data = period_data(
        [case((0, 60), (42, 75), (60, 78))], reviews=reviews((1, 42, "change", []))
    )
    after = first_reviews(data)
    assert after["first"].tolist() == [3.0]
    assert after["first_weeks"].tolist() == [18 / 7]


def test_each_measure_has_its_own_limit() -> None:
    """Nine points matter on the LEFS (its default limit), not on the AKPS."""
    scores = [(0, 40), (40, 40), (60, 49)]
    cases = [
        Case(opened_on=OPENED_ON, scores=scores, measure=key)
        for key in ("lefs", "akps")
    ]
    seen = reviews((1, 42, "change", []), (2, 42, "change", []))
    after = first_reviews(period_data(cases, reviews=seen))["after"]
    assert after.tolist() == [
        "reached at the first later score",
        "measured since, not reached",
    ]


def test_scores_that_cannot_be_compared_stand_apart() -> None:
    """Another edition of the form after the review gives no change."""
    data = period_data(
        [case((0, 60), (40, 62), (56, 80))], reviews=reviews((1, 42, "change", []))
    )
    data.looks.loc[2, "gain"] = float("nan")
    assert first_reviews(data)["after"].tolist() == [
        "later scores cannot be compared with the one before"
    ]


def test_what_happened_next_is_counted_by_decision() -> None:
    """Each case from its first review; those who cannot be judged are left out."""
    cases = list(WAYS.values())
    found = section(
        cases,
        reviews=reviews(
            *[(number, 42, "change", []) for number in range(1, 7)],
            (1, 65, "refer", []),
        ),
    )
    scores, size, care = found.blocks[3:]
    assert (scores.n, scores.of) == (3, 6)
    assert row(scores, "Change the programme") == [
        "6",
        "3",
        "1 of 3",
        "1 of 3",
        "1 of 3",
    ]
    assert [cells[0].text for cells in scores.table.rows] == ["Change the programme"]
    assert scores.says == (
        "1 of 3 reached an important gain at the first score after the review, 1 only "
        "at a later one, and 1 not so far."
    )
    assert {left.words: left.count for left in scores.left_out} == {
        "not measured since": 1,
        "no score up to the review": 1,
        "no room for an important gain at the review": 1,
    }
    # Opened 5 Jan, reviewed on day 42 (16 Feb), today 1 Jun: 15 weeks.
    assert "since the review: 1 case. Weeks waited so far" in scores.notes[-1]
    assert "median (range): 15. They may reach" in scores.notes[-1]
    assert row(size, "AKPS")[0] == "4"
    assert row(size, "AKPS")[1] == "+9 (+2 to +10)"
    assert row(care, "Change the programme")[0] == "6"
    assert care.says.startswith("6 of 6 reviewed cases are still in care")


def test_why_care_ended_is_counted() -> None:
    """By the reason of the discharge, and nothing is left open."""
    ended = case((0, 60), discharged_on=date(2026, 3, 30), reason="referred on")
    care = section([ended], reviews=reviews((1, 42, "refer", []))).blocks[5]
    assert care.says == "Every reviewed case is discharged."
    heads = care.table.head[1:]
    assert dict(zip(heads, row(care, "Refer on"), strict=True))["Referred on"] == "1"


# Every state says something true


STATES = {
    "empty": [],
    "one patient": [case((0, 60), (84, 75))],
    "all lost": [case() for _ in range(12)],
    "all at ceiling": [case((0, 98), (84, 99)) for _ in range(12)],
    "one clinician": [case((0, 60), (84, 75)) for _ in range(12)],
}


@pytest.mark.parametrize("is_reviewed", [False, True])
@pytest.mark.parametrize("state", STATES)
def test_every_state_can_be_told(state: str, *, is_reviewed: bool) -> None:
    """No block fails, claims a cause, or counts more than there are."""
    cases = STATES[state]
    more: dict[str, Any] = {}
    if is_reviewed and cases:
        each = range(1, len(cases) + 1)
        more = {
            "reviews": reviews(*((n, 42, "continue", ["not_seen"]) for n in each)),
            "flags": flags(*((n, "not_seen", 9, False) for n in each)),
        }
    for block in section(cases, **more).blocks:
        assert block.says.endswith(".")
        assert 0 <= block.n <= block.of <= len(cases)
        assert all(len(r) == len(block.table.head) for r in block.table.rows)
        assert not any(word in block.says for word in CAUSAL)


def test_an_empty_period_says_so() -> None:
    """Six plain sentences, none of them a zero of zero."""
    assert [block.says for block in section([]).blocks] == [
        "No case of the period is in care.",
        "No case was opened in the period.",
        "No review of the period names a finding.",
        "No case of the period was reviewed.",
        "No reviewed case has a later score that can be compared yet.",
        "No case of the period was reviewed.",
    ]


def test_all_at_ceiling_judges_nobody() -> None:
    """Where no important gain can occur, none is counted as missed."""
    cases = STATES["all at ceiling"]
    each = range(1, len(cases) + 1)
    block = section(
        cases, reviews=reviews(*((n, 42, "continue", []) for n in each))
    ).blocks[3]
    assert (block.n, block.of) == (0, 12)
    assert [left.count for left in block.left_out] == [12]


def test_every_number_leads_to_its_cases() -> None:
    """A cell that names a set shows how many are in it."""
    found = section(
        list(WAYS.values()),
        reviews=reviews(*((n, 42, "change", ["not_seen"]) for n in range(1, 7))),
        flags=flags((1, "not_seen", 9, False)),
    )
    for block in found.blocks:
        for cell in (cell for cells in block.table.rows for cell in cells):
            if cell.cases:
                assert cell.text.split()[0] == str(len(found.sets[cell.cases]))
        for left in block.left_out:
            assert left.count == len(found.sets.get(left.cases, ()))
