"""What was done: described by irritability, counted once a case, compared with none."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

import pandas as pd
import pytest

from clinic.models import Episode, User
from outcomes.frames.given import read_given
from outcomes.trends.given import build
from outcomes.trends.sections import Block, Section
from programs.components import BESIDE, BY_TARGET, EXERCISE, components
from programs.library import library
from programs.library_entries import TARGETS
from programs.models import Prescription, Programme
from programs.own_exercises import add_exercise
from programs.planning import void_programme
from tests.factories import make_episode, make_other_care
from tests.outcomes.trends.period_data import Case, period_data
from tests.programs.plans import make_line, make_programme, squat_line

HIP, TAPING = "hip exercise", "taping or other care of the kneecap"


def given(*rows: tuple[int, str]) -> pd.DataFrame:
    """Return components as (episode, component)."""
    return pd.DataFrame(rows, columns=["episode", "component"])


def section(cases: Sequence[Case], *rows: tuple[int, str]) -> Section:
    """Build the section for hand-made cases."""
    return build(period_data(cases, given=given(*rows)))


def row(block: Block, heading: str) -> list[str]:
    """Return the texts of a row."""
    return next(
        [cell.text for cell in cells[1:]]
        for cells in block.table.rows
        if cells[0].text == heading
    )


# The section


def test_components_are_counted_by_irritability() -> None:
    """Once a case, however many lines; a per cent from ten cases in the column."""
    cases = [Case(irritability="high")] * 10 + [Case(irritability="low")] * 2
    found = section(cases, (1, HIP), (1, HIP), (2, HIP), (11, HIP), (11, TAPING))
    exercise, beside, other = found.blocks
    assert exercise.table.head == ("Component", "High", "Moderate", "Low", "All cases")
    tenth = "(20\N{NO-BREAK SPACE}%)"
    all_of_them = "3 of 12 (25\N{NO-BREAK SPACE}%)"
    dash = "\N{EN DASH}"
    assert row(exercise, "Hip exercise") == [
        f"2 of 10 {tenth}",
        dash,
        "1 of 2",
        all_of_them,
    ]
    assert row(beside, "Taping or other care of the kneecap")[2] == "1 of 2"
    assert row(exercise, "None of these")[2] == "1 of 2"
    assert exercise.says == f"{all_of_them} cases have any exercise on record."
    assert (other.n, other.of) == (0, 12)
    assert found.sets["hip_exercise_high"] == (1, 2)


def test_an_unknown_irritability_has_its_own_column() -> None:
    """Cases without the level are shown and not dropped."""
    found = section([Case(irritability=""), Case(irritability="low")], (1, HIP))
    block = found.blocks[0]
    assert block.table.head[-2:] == ("Not recorded", "All cases")
    assert row(block, "Hip exercise")[-2:] == ["1 of 1", "1 of 2"]


def test_the_lost_count_as_well() -> None:
    """What was given does not hang on whether anybody measured again."""
    block = section([Case() for _ in range(12)], (1, HIP)).blocks[0]
    assert block.of == 12


def test_components_of_cases_outside_the_choice_are_ignored() -> None:
    """Only the cases of the period are counted."""
    assert section([Case()], (1, HIP), (99, HIP)).blocks[0].n == 1


def test_nothing_is_said_to_work() -> None:
    """The caution stands first, and no sentence names an effect."""
    found = section([Case(irritability="high")], (1, HIP))
    assert "does not compare what works" in found.cautions[0]
    for block in found.blocks:
        assert not any(word in block.says for word in ("effect", "because", "better"))


STATES = {
    "empty": [],
    "one patient": [Case(scores=[(0, 60), (84, 75)])],
    "all lost": [Case() for _ in range(12)],
    "all at ceiling": [Case(scores=[(0, 98), (84, 99)]) for _ in range(12)],
    "one clinician": [Case(scores=[(0, 60), (84, 75)]) for _ in range(12)],
}


@pytest.mark.parametrize("has_given", [False, True])
@pytest.mark.parametrize("state", STATES)
def test_every_state_can_be_told(state: str, *, has_given: bool) -> None:
    """Tables hold together and no count exceeds its denominator."""
    cases = STATES[state]
    rows = [(number, HIP) for number in range(1, len(cases) + 1)] if has_given else []
    for block in section(cases, *rows).blocks:
        assert block.says.endswith(".")
        assert 0 <= block.n <= block.of == len(cases)
        assert all(len(r) == len(block.table.head) for r in block.table.rows)


def test_an_empty_period_says_so() -> None:
    """No zero of zero."""
    block = build(period_data([])).blocks[0]
    assert block.says == "No case was opened in the period."
    assert set(row(block, "Hip exercise")) == {"\N{EN DASH}"}


# What a line counts as


def test_every_target_and_entry_counts_as_something() -> None:
    """A new target or entry does not fall out of the tables unseen."""
    assert set(BY_TARGET) == set(TARGETS)
    listed = {*EXERCISE, *BESIDE}
    for key in library():
        found = set(components(key))
        assert found, key
        assert found <= listed, key


@pytest.mark.parametrize(
    ("key", "expected"),
    [
        ("side_lying_clam", [HIP]),
        ("bridge", [HIP]),
        ("squat_half", ["quadriceps exercise"]),
        (
            "bfr_knee_extension",
            ["quadriceps exercise", "work under a cuff (flow restriction)"],
        ),
        ("short_foot_sitting", ["foot exercise"]),
        ("orthoses_prefabricated", ["foot orthoses"]),
        ("taping_tailored", [TAPING]),
        ("load_plan", ["education"]),
        ("cadence_five", ["running retraining or return to running"]),
        ("no such key", []),
    ],
)
def test_entries_count_by_what_they_are_for(key: str, expected: list[str]) -> None:
    """An orthosis is no foot exercise; work under a cuff counts twice."""
    assert list(components(key)) == expected


# What is read


@pytest.fixture
def case(clinician: User, clock: Any, today: date) -> Episode:
    """A case that opened two months ago."""
    return make_episode(by=clinician, opened_on=today - timedelta(days=60))


def prescribe(programme: Programme, *, on: date, **changes: Any) -> Prescription:
    """Prescribe a line of body weight."""
    line = squat_line(load="body", load_kg=None, **changes)
    return make_line(programme, on=on, line=line)


def names(case: Episode, *, on: date) -> list[str]:
    """Return what is read of one case."""
    return read_given([case.pk], on=on)["component"].tolist()


def test_lines_and_other_care_are_read_once_a_case(
    case: Episode, today: date, django_assert_num_queries: Any
) -> None:
    """Two lines of one family are one component; two queries whatever the number."""
    programme = make_programme(case, on=today)
    for key in ("side_lying_clam", "bridge", "squat_half"):
        prescribe(programme, on=today, exercise=key)
    make_other_care(episode=case, on=today, what="injection")
    with django_assert_num_queries(2):
        found = read_given([case.pk], on=today)
    assert found["component"].tolist() == [HIP, "injection", "quadriceps exercise"]
    assert set(found["episode"]) == {case.pk}


def test_what_is_voided_or_has_not_begun_is_not_read(
    case: Episode, clinician: User, today: date
) -> None:
    """Neither a line of tomorrow nor one that was made by mistake."""
    programme = make_programme(case, on=today)
    prescribe(programme, on=today, exercise="squat_half")
    assert names(case, on=today - timedelta(days=1)) == []
    assert names(case, on=today) == ["quadriceps exercise"]
    programme.refresh_from_db()
    void_programme(programme, by=clinician, why="mistake", version=programme.version)
    assert names(case, on=today) == []


def test_an_own_exercise_counts_by_its_target(
    case: Episode, clinician: User, today: date
) -> None:
    """The clinic's own entries are in no other table."""
    own = add_exercise(
        by=clinician, name="Invented", target="trunk", how="x", source="x"
    )
    programme = make_programme(case, on=today)
    prescribe(programme, on=today, exercise="", clinic_exercise=own)
    assert names(case, on=today) == ["trunk exercise"]
