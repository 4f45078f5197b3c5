"""Flow: stages, lateness, the lost at the start, and what they leave open."""

from datetime import date

import pytest

from outcomes.trends.flow import NOT_ADVISED, build
from outcomes.trends.sections import Block, Section
from tests.outcomes.trends.period_data import Case, period_data
from tests.outcomes.trends.traced import check_traced, rows_of

RECENT = date(2026, 5, 1)  # a month before the day of the builder
BETTER = ((0, 60), (84, 80))
SAME = ((0, 60), (84, 62))
ONLY_FIRST = ((0, 50),)


def section(*cases: Case, declined: int = 0) -> Section:
    """Build the section and hold every number to the cases behind it."""
    found = build(period_data(cases, declined=declined))
    check_traced(found)
    return found


def block(found: Section, title: str) -> Block:
    """Return the block of that title."""
    return next(b for b in found.blocks if b.title == title)


def stages(found: Section) -> dict[str, list[str]]:
    """Return the table of stages."""
    return rows_of(block(found, "From opening to outcome"))


def mixed() -> list[Case]:
    """Twenty cases: each way that a case can go."""
    return [
        *(Case(scores=BETTER) for _ in range(6)),
        *(Case(scores=SAME) for _ in range(4)),
        *(Case(scores=ONLY_FIRST) for _ in range(4)),
        Case(scores=ONLY_FIRST, discharged_on=date(2025, 10, 1), reason="stopped"),
        Case(),
        Case(scores=((0, 60), (28, 80)), discharged_on=date(2025, 10, 1)),
        Case(opened_on=RECENT, scores=ONLY_FIRST),
        Case(opened_on=RECENT),
        Case(opened_on=date(2026, 3, 1), scores=ONLY_FIRST),
    ]


# The stages


def test_stages_say_what_they_are_a_part_of() -> None:
    """Measured, lost and without a baseline make up the due."""
    found = stages(section(*mixed()))
    assert found["Opened"] == ["20", ""]
    assert found["First score taken"] == ["18", "18 of 20 (90\xa0%) opened"]
    assert found["Due for an outcome"][0] == "17"
    assert found["Measured again"] == ["11", "11 of 17 (65\xa0%) due"]
    assert found["Lost"] == ["5", "5 of 17 (29\xa0%) due"]
    assert found["Due without a first score"] == ["1", "1 of 17 (6\xa0%) due"]
    assert found["Discharged"] == ["2", "2 of 20 (10\xa0%) opened"]
    assert found["Discharged and lost"] == ["1", "1 of 2 discharged"]


def test_what_is_left_out_is_counted() -> None:
    """Under way, too early, and people who decline."""
    found = block(section(*mixed(), declined=3), "From opening to outcome")
    left = {out.words: out.count for out in found.left_out}
    assert left["under way: the outcome is not due yet"] == 2
    assert left["not due yet and without a first score"] == 1
    assert left["people who decline the use of their data for audit"] == 3
    assert (found.n, found.of) == (11, 17)


def test_another_edition_is_measured_again_but_no_outcome() -> None:
    """It stands among the measured again, apart from what can be counted."""
    data = period_data([Case(scores=BETTER)])
    data.cases.loc[1, ["state", "outcome_day", "gain"]] = "not comparable", None, None
    found = block(build(data), "From opening to outcome")
    assert rows_of(found)["Measured again"][0] == "1"
    assert (found.n, found.of) == (0, 1)
    assert any("not comparable" in out.words for out in found.left_out)


@pytest.mark.parametrize(("measured", "is_advised"), [(12, True), (11, False)])
def test_no_comparison_below_sixty_per_cent(measured: int, *, is_advised: bool) -> None:
    """12 of 20 is enough, 11 is not (recommendation of the statistics reference)."""
    cases = [Case(scores=BETTER if i < measured else ONLY_FIRST) for i in range(20)]
    says = block(section(*cases), "From opening to outcome").says
    assert (NOT_ADVISED not in says) is is_advised
    assert f"{measured} of 20" in says


# Lateness


@pytest.mark.parametrize(
    ("day", "row"),
    [
        (70, "Before the planned day"),
        (83, "Before the planned day"),
        (84, "On the planned day or within 6 days"),
        (90, "On the planned day or within 6 days"),
        (91, "1 week late"),
        (98, "2 weeks late"),
        (111, "3 weeks late"),
        (112, "4 weeks late"),
    ],
)
def test_weeks_late_are_whole_weeks(day: int, row: str) -> None:
    """Edges of every row; week 12 is the planned one."""
    found = section(Case(scores=((0, 60), (day, 70))))
    late = rows_of(block(found, "How late the outcomes were taken"))
    assert late.pop("Past the planned day and not measured, still in time") == ["0"]
    assert {name for name, (text,) in late.items() if text == "1 of 1"} == {row}


def test_an_end_of_care_is_not_early() -> None:
    """Its outcome belongs to its own last day."""
    case = Case(scores=((0, 60), (28, 80)), discharged_on=date(2025, 10, 1))
    late = rows_of(block(section(case), "How late the outcomes were taken"))
    assert late["At the end of care, sooner"] == ["1 of 1"]


def test_past_the_day_and_still_in_time() -> None:
    """Without a score near the day only."""
    opened = date(2026, 3, 1)  # 92 days before
    waiting = Case(opened_on=opened, scores=((0, 60), (30, 64)))
    done = Case(opened_on=opened, scores=((0, 60), (80, 64)))
    found = section(waiting, done)
    late = rows_of(block(found, "How late the outcomes were taken"))
    assert late["Past the planned day and not measured, still in time"] == ["1"]
    assert found.sets["late_waiting"] == (1,)


# The lost at the start


def test_the_lost_beside_the_measured() -> None:
    """Means, spreads, numbers, and the difference worked by hand.

    Variances 100 and 100, means 65 and 50: 15/10.
    """
    measured = [Case(scores=((0, s), (84, 80)), age=30) for s in (55, 65, 75)]
    lost = [Case(scores=((0, s),), age=30) for s in (40, 50, 60)]
    found = block(section(*measured, *lost), "The measured and the lost at the start")
    assert rows_of(found)["AKPS score"] == [
        "65 (10), n 3",
        "50 (10), n 3",
        "+1.50, above 0.1",
    ]
    assert rows_of(found)["Age, years"] == ["30 (0), n 3", "30 (0), n 3", "–"]
    assert any("by chance alone" in note for note in found.notes)


def test_each_measure_has_its_own_row() -> None:
    """Scores of two scales never mix."""
    cases = [
        *(Case(scores=((0, 50 + i), (84, 80))) for i in range(3)),
        *(Case(scores=((0, 40 + i), (84, 80)), measure="lefs") for i in range(3)),
        *(Case(scores=((0, 45 + i),)) for i in range(2)),
    ]
    found = rows_of(block(section(*cases), "The measured and the lost at the start"))
    assert found["AKPS score"][:2] == ["51 (1), n 3", "45.5 (0.7), n 2"]
    assert found["LEFS score"][1:] == ["–", "–"]


# What the lost leave open


def test_bounds_of_the_rate() -> None:
    """The worked numbers of the statistics reference 2.5, computed: 60, 40 and 26."""
    cases = [
        *(Case(scores=BETTER) for _ in range(26)),
        *(Case(scores=SAME) for _ in range(14)),
        *(Case(scores=((0, 60),)) for _ in range(20)),
    ]
    found = section(*cases)
    rows = rows_of(block(found, "What the lost leave open"))
    assert rows == {
        "Not one of the lost reached it": ["26 of 60 (43\xa0%)", "32 to 56\xa0%"],
        "The lost did half as well": ["about 54\xa0%", "–"],
        "Among the measured alone": ["26 of 40 (65\xa0%)", "50 to 78\xa0%"],
        "All of the lost reached it": ["46 of 60 (77\xa0%)", "65 to 86\xa0%"],
    }
    assert len(found.sets["bounds_best"]) == 46


def test_one_knee_per_person_counts_in_the_bounds() -> None:
    """The second knee of a person stands aside."""
    found = section(
        Case(scores=BETTER, patient=7), Case(scores=BETTER, patient=7, side="right")
    )
    assert block(found, "What the lost leave open").of == 1


# Five states


def test_no_case_at_all() -> None:
    """Every block says so, and shows no figure."""
    found = section()
    assert [b.says for b in found.blocks] == [
        "No case was opened in the period.",
        "No outcome was taken yet.",
        "Nobody is lost, so there is nothing to compare.",
        "No knee with room to gain is due yet.",
    ]
    assert all(b.figure is None for b in found.blocks)
    assert found.sets == {}


def test_one_patient() -> None:
    """Counts, no per cent and no interval."""
    found = section(Case(scores=BETTER))
    assert (
        block(found, "From opening to outcome").says
        == "One case is due for an outcome: it is measured."
    )
    text = str([b.table for b in found.blocks])
    assert "\xa0%" not in text


def test_a_patient_who_is_not_due() -> None:
    """Nothing is due, and nothing is lost."""
    found = section(Case(opened_on=RECENT, scores=ONLY_FIRST))
    says = block(found, "From opening to outcome").says
    assert says == "One case was opened; none is due for an outcome yet."


def test_all_lost() -> None:
    """Nobody to compare with, and nothing known of the rate."""
    found = section(*(Case(scores=((0, 50 + i),)) for i in range(12)))
    assert NOT_ADVISED in block(found, "From opening to outcome").says
    compared = block(found, "The measured and the lost at the start")
    assert compared.says.startswith("Nobody has an outcome")
    assert rows_of(compared)["AKPS score"] == ["–", "55.5 (3.6), n 12", "–"]
    bounds = rows_of(block(found, "What the lost leave open"))
    assert bounds["Not one of the lost reached it"][0] == "0 of 12 (0\xa0%)"
    assert bounds["All of the lost reached it"][0] == "12 of 12 (100\xa0%)"
    assert "Among the measured alone" not in bounds


def test_all_at_the_ceiling() -> None:
    """Nobody can gain: no rate, and the knees are counted as left out."""
    found = section(*(Case(scores=((0, 97), (84, 99))) for _ in range(12)))
    bounds = block(found, "What the lost leave open")
    assert bounds.says == "No knee with room to gain is due yet."
    assert [out.count for out in bounds.left_out] == [12]


def test_one_clinician() -> None:
    """The section does not depend on who treated."""
    one = section(*mixed())
    cases = [Case(scores=case.scores, clinician=2) for case in mixed()]
    other = section(*cases)
    assert len(one.blocks) == len(other.blocks) == 4
