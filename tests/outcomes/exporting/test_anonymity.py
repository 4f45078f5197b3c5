"""k and l on hand-made tables, against another library, and against attackers."""

import random
from collections import Counter
from collections.abc import Iterable
from itertools import pairwise

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pycanon import anonymity as independent

from outcomes.exporting.anonymity import (
    NOBODY,
    Plan,
    Refused,
    Tally,
    is_k_anonymous,
    is_l_diverse,
)
from outcomes.exporting.generalising import (
    AGE_BANDS,
    LEVELS,
    Quasi,
    Shown,
    at_level,
)
from outcomes.period_choice import DURATIONS

Row = tuple[int, Quasi, tuple[str, ...]]
WORDS = ("improved", "none", "worse")


def quasi(
    age: str = "18 to 29",
    sex: str = "F",
    side: str = "left",
    duration: str = DURATIONS[0],
    year: int = 2024,
    clinician: str = "C1",
) -> Quasi:
    """Return what a stranger knows of a made-up episode."""
    return Quasi(age, sex, side, duration, year, clinician)


def alike(
    count: int, start: int, one: Quasi, words: Iterable[str] = WORDS
) -> list[Row]:
    """Return rows of as many people who look alike, with different verdicts."""
    words = tuple(words)
    return [
        (start + place, one, (words[place % len(words)],)) for place in range(count)
    ]


def tallied(rows: Iterable[Row]) -> Tally:
    """Count rows in order of person."""
    tally = Tally()
    for row in sorted(rows, key=lambda row: row[0]):
        tally.add(*row)
    return tally


def plan_of(rows: Iterable[Row], **rule: float) -> Plan:
    """Return the plan of rows of which enough may leave."""
    plan = tallied(rows).plan(**rule)  # type: ignore[arg-type]
    assert isinstance(plan, Plan), plan
    return plan


def released(rows: Iterable[Row], plan: Plan) -> list[tuple[Shown, str, int]]:
    """Return what the file would show: quasi-identifiers, verdict, and the person."""
    shown = ((plan.shown(one), words[0], person) for person, one, words in rows)
    return [(one, word, person) for one, word, person in shown if one is not None]


rows_of_a_clinic = st.lists(
    st.tuples(
        st.integers(0, 60),
        st.builds(
            quasi,
            age=st.sampled_from(AGE_BANDS),
            sex=st.sampled_from("FM"),
            side=st.sampled_from(("left", "right")),
            duration=st.sampled_from(DURATIONS),
            year=st.sampled_from((2024, 2025)),
            clinician=st.sampled_from(("C1", "C2")),
        ),
        st.tuples(st.sampled_from(WORDS)),
    ),
    max_size=150,
)


def clinic_of(seed: int) -> list[Row]:
    """Draw the rows of a clinic, large enough that some level mostly will do."""
    draw = random.Random(seed)
    bands = [draw.choice(AGE_BANDS) for _ in range(draw.randint(1, 5))]
    sexes = draw.choice(("F", "FFFFFFFM", "FM", "FFFFMMMMX"))
    clinicians = draw.choice((("C1",), ("C1", "C2", "C3")))
    people = draw.randint(10, 150)
    return [
        (
            draw.randint(1, people),
            quasi(
                age=draw.choice(bands),
                sex=draw.choice(sexes),
                side=draw.choice(("left", "right")),
                duration=draw.choice(DURATIONS),
                year=draw.choice((2024, 2025)),
                clinician=draw.choice(clinicians),
            ),
            (draw.choice(WORDS),),
        )
        for _ in range(people)
    ]


seeds = st.integers(0, 2**32)


# Hand-made tables


def test_five_people_alike_with_two_verdicts_leave_in_full() -> None:
    """k = 5 and l = 2 are met at the first level; nothing is held back."""
    plan = plan_of(alike(5, 1, quasi()))
    assert (plan.level, plan.rows, plan.people) == (LEVELS[0], 5, 5)
    assert (plan.suppressed_rows, plan.suppressed_people) == (0, 0)
    assert plan.released_rows == 5
    assert plan.because == "Level 0 of 8, “full”. None of the 5 rows is held back."


def test_four_people_do_not_leave_at_any_level() -> None:
    """Below k there is no level; the refusal says what to do."""
    found = tallied(alike(4, 1, quasi())).plan()
    assert isinstance(found, Refused)
    assert "The period holds 4 people. Choose a longer period" in found.sentence


def test_one_person_is_told_apart_from_many() -> None:
    """The sentence is right for one, too."""
    found = tallied(alike(1, 1, quasi())).plan()
    assert isinstance(found, Refused)
    assert "holds 1 person." in found.sentence


def test_nobody_has_a_sentence_of_their_own() -> None:
    """An empty period is not refused for being too small."""
    assert Tally().plan() == Refused(NOBODY)


def test_k_counts_people_not_knees() -> None:
    """Six rows of three people are not k = 5, though six rows are."""
    rows = [(person, quasi(), (word,)) for person in range(3) for word in WORDS[:2]]
    assert is_k_anonymous([at_level(one, 0) for _, one, _ in rows], k=5)
    assert isinstance(tallied(rows).plan(), Refused)


def test_a_class_of_one_verdict_does_not_leave() -> None:
    """Who is known to be in it would be known to have got worse: l = 2 forbids it."""
    found = tallied(alike(20, 1, quasi(), ["worse"])).plan()
    assert isinstance(found, Refused)
    assert "2 different results or more" in found.sentence


def test_every_sensitive_column_needs_its_own_variety() -> None:
    """One varied column does not excuse another that is all the same."""
    rows = [(n, quasi(), (WORDS[n % 2], "goals met")) for n in range(10)]
    assert isinstance(tallied(rows).plan(), Refused)
    rows = [(n, quasi(), (WORDS[n % 2], WORDS[n % 3])) for n in range(10)]
    assert isinstance(tallied(rows).plan(), Plan)


@pytest.mark.parametrize(
    ("other", "level"),
    [
        ({"clinician": "C2"}, "clinician dropped"),
        ({"duration": DURATIONS[1]}, "duration in two bands"),
        ({"duration": DURATIONS[2]}, "duration dropped"),
        ({"side": "right"}, "side dropped"),
        ({"age": "30 to 39"}, "age in three bands"),
        ({"age": "under 18"}, "age in two bands"),
        ({"year": 2025}, "years pooled"),
        ({"sex": "M"}, "sex dropped"),
    ],
)
def test_the_first_level_that_joins_them_is_taken(
    other: dict[str, str | int], level: str
) -> None:
    """Four and four who differ in one thing leave where that thing is joined."""
    rows = alike(4, 1, quasi()) + alike(4, 10, quasi(**other))  # type: ignore[arg-type]
    plan = plan_of(rows)
    assert plan.level.name == level
    assert plan.suppressed_rows == 0
    assert [rows for _, rows in plan.tried] == [8] * plan.level.number + [0]
    assert "Every level before it would hold back more than 10%" in plan.because


def test_a_tenth_is_held_back_and_not_a_row_more() -> None:
    """Five of 50 may stay behind, five of 49 may not: then a level further."""
    few = [
        (100 + n, quasi(clinician=f"C{n + 2}", sex="M"), (WORDS[n % 2],))
        for n in range(5)
    ]
    plan = plan_of(alike(45, 1, quasi()) + few)
    assert (plan.level.number, plan.suppressed_rows) == (0, 5)
    assert "5 of 50 rows are held back" in plan.because
    plan = plan_of(alike(44, 1, quasi()) + few)
    assert (plan.level.number, plan.suppressed_rows) == (1, 0)


def test_rows_out_of_order_are_an_error() -> None:
    """A person who comes twice apart would be counted as two."""
    tally = Tally()
    tally.add(2, quasi(), ("none",))
    with pytest.raises(ValueError, match="rising order"):
        tally.add(1, quasi(), ("none",))
    with pytest.raises(ValueError, match="as many"):
        tally.add(3, quasi(), ("none", "none"))


def test_more_values_than_are_kept_cannot_be_asked_for() -> None:
    """A greater l than is counted would be a guess."""
    with pytest.raises(ValueError, match="1 to 5"):
        Tally().plan(l_values=6)


def test_the_tally_grows_with_classes_not_with_rows() -> None:
    """Ten thousand people of one kind take the room of one class at each level."""
    tally = tallied(alike(10_000, 1, quasi(), map(str, range(50))))
    assert [len(classes) for classes in tally._levels] == [1] * len(LEVELS)
    assert {
        len(one.values[0]) for level in tally._levels for one in level.values()
    } == {5}


# Checkers, against an independent library


@settings(deadline=None)
@given(rows_of_a_clinic)
def test_both_checkers_agree_with_an_independent_library(rows: list[Row]) -> None:
    """pycanon counts k and l of the same table by its own method."""
    if not rows:
        return
    shown = [(*at_level(one, 4), word) for _, one, (word,) in rows]
    names = [*Shown._fields, "verdict"]
    table = pd.DataFrame(shown, columns=names)
    k = independent.k_anonymity(table, names[:-1])
    most = independent.l_diversity(table, names[:-1], ["verdict"])
    quasis = [row[:-1] for row in shown]
    pairs = [(row[:-1], row[-1]) for row in shown]
    assert is_k_anonymous(quasis, k=k)
    assert not is_k_anonymous(quasis, k=k + 1)
    assert is_l_diverse(pairs, l_values=most)
    assert not is_l_diverse(pairs, l_values=most + 1)


def test_drawn_clinics_are_of_every_kind() -> None:
    """The properties below are not empty: plans at many levels, held back and not."""
    plans = [tallied(clinic_of(seed)).plan() for seed in range(200)]
    made = [plan for plan in plans if isinstance(plan, Plan)]
    assert len(made) > 100
    assert len({plan.level.number for plan in made}) >= 5
    assert sum(plan.suppressed_rows > 0 for plan in made) > 20
    assert len(made) < len(plans)


@settings(deadline=None)
@given(seeds, st.sampled_from((2, 3, 5)))
def test_what_leaves_is_k_anonymous_and_l_diverse(seed: int, k: int) -> None:
    """By pycanon on rows, and by a pandas groupby on people, which is stricter."""
    rows = clinic_of(seed)
    plan = tallied(rows).plan(k=k)
    if isinstance(plan, Refused):
        return
    left = released(rows, plan)
    names = [*Shown._fields, "verdict", "person"]
    table = pd.DataFrame([(*one, word, who) for one, word, who in left], columns=names)
    known = list(Shown._fields)
    assert independent.k_anonymity(table, known) >= k
    assert independent.l_diversity(table, known, ["verdict"]) >= 2
    assert table.groupby(known)["person"].nunique().min() >= k
    assert table.groupby(known)["verdict"].nunique().min() >= 2
    assert len(left) == plan.released_rows
    assert plan.suppressed_rows <= 0.1 * len(rows) + 1e-9


@settings(deadline=None, max_examples=40)
@given(rows_of_a_clinic)
def test_counts_of_each_level_are_those_of_a_groupby(rows: list[Row]) -> None:
    """Rows and people per class, by pandas on the same rows."""
    if not rows:
        return
    tally = tallied(rows)
    for level in LEVELS:
        shown = [(*at_level(one, level.number), who) for who, one, _ in rows]
        table = pd.DataFrame(shown, columns=[*Shown._fields, "person"])
        groups = table.groupby(list(Shown._fields))["person"]
        counted = tally._levels[level.number]
        assert {tuple(k): n for k, n in groups.size().items()} == {
            tuple(k): one.rows for k, one in counted.items()
        }
        assert {tuple(k): n for k, n in groups.nunique().items()} == {
            tuple(k): one.people for k, one in counted.items()
        }


@given(rows_of_a_clinic)
def test_a_later_level_never_has_a_smaller_or_poorer_class(rows: list[Row]) -> None:
    """What looks alike is joined, so the smallest class grows or stays."""
    tally = tallied(rows)
    for before, after in pairwise(tally._levels):
        if not before:
            continue
        for measure in (
            lambda one: one.people,
            lambda one: one.rows,
            lambda one: len(one.values[0]),
        ):
            assert min(map(measure, after.values())) >= min(
                map(measure, before.values())
            )


# Attackers


def test_what_is_held_back_is_nobody_or_k_people() -> None:
    """One man among women: a total of verdicts minus the file would give his.

    So the smallest class that could have left stays behind with him.
    """
    rows = [
        *alike(34, 1, quasi()),
        *alike(6, 50, quasi(age="40 to 49")),
        (99, quasi(sex="M"), ("none",)),
    ]
    plan = plan_of(rows, most_suppressed=0.2)
    assert plan.level.number == 0
    assert (plan.suppressed_rows, plan.suppressed_people) == (7, 7)
    assert at_level(quasi(age="40 to 49"), 0) not in plan.classes


@settings(deadline=None)
@given(seeds)
def test_an_attacker_with_every_total_finds_nobody(seed: int) -> None:
    """Known totals minus the file leave nobody, or at least k people in one heap."""
    rows = clinic_of(seed)
    plan = tallied(rows).plan(most_suppressed=0.5)
    if isinstance(plan, Refused):
        return
    totals = Counter(at_level(one, plan.level.number) for _, one, _ in rows)
    totals.subtract(one for one, _, _ in released(rows, plan))
    hidden = {
        person for person, one, _ in rows if totals[at_level(one, plan.level.number)]
    }
    assert sum(totals.values()) == plan.suppressed_rows
    assert not hidden or len(hidden) >= max(5, plan.suppressed_people)
    assert plan.suppressed_people == 0 or plan.suppressed_people >= 5


@given(rows_of_a_clinic, st.permutations(range(61)))
def test_the_plan_does_not_depend_on_who_is_who(
    rows: list[Row], others: list[int]
) -> None:
    """Numbers of the database decide nothing that a reader could see in the levels."""
    renamed = [(others[person], one, words) for person, one, words in rows]
    one, other = tallied(rows), tallied(renamed)
    assert [
        {shown: (c.rows, c.people, c.values) for shown, c in level.items()}
        for level in one._levels
    ] == [
        {shown: (c.rows, c.people, c.values) for shown, c in level.items()}
        for level in other._levels
    ]
