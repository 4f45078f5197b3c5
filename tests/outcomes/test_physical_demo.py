"""The invented clinic's physical tests: always the same, and true to their stories."""

from collections.abc import Iterator
from datetime import date

import pytest

from outcomes.demo.caseload import plan_caseload
from outcomes.demo.physical import HOP_FROM_WEEK, HOP_MAX_PAIN, physical_tests_of
from outcomes.demo.plans import EpisodePlan
from outcomes.physical_recording import PhysicalEntry, result_of
from outcomes.science.physical_file import physical_tests
from outcomes.science.physical_tests import Summary

ON = date(2026, 6, 1)


@pytest.fixture(scope="module")
def tested() -> list[tuple[EpisodePlan, list[PhysicalEntry]]]:
    """Every planned episode with the tests done in it."""
    return [
        (episode, list(physical_tests_of(episode, seed=person.record_number)))
        for person in plan_caseload(ON)
        for episode in person.episodes
    ]


def symmetries(tests: list[PhysicalEntry], *, index: str) -> Iterator[float]:
    """Yield index over other side of the hip abductors, oldest first."""
    about = physical_tests()["hip_abductor"]
    for entry in tests:
        if entry.test != about.key:
            continue
        found = {s.side: result_of(about, s.trials, entry.unit) for s in entry.sides}
        mine = found.pop(index)
        (theirs,) = found.values()
        assert isinstance(mine, Summary) and isinstance(theirs, Summary)
        yield mine.value / theirs.value


def test_some_episodes_are_tested_and_most_are_not(tested: list) -> None:
    """All six tests occur."""
    some = [tests for _, tests in tested if tests]
    assert 25 < len(some) < len(tested) / 2
    assert {entry.test for tests in some for entry in tests} == set(physical_tests())


def test_every_result_could_have_been_typed(tested: list) -> None:
    """Within the guards, inside the episode, once a side and day."""
    for episode, tests in tested:
        for entry in tests:
            about = physical_tests()[entry.test]
            assert episode.opened_on <= entry.tested_on <= ON
            for side in entry.sides:
                found = result_of(about, side.trials, entry.unit)
                assert isinstance(found, Summary)
        keys = [(entry.test, entry.tested_on) for entry in tests]
        assert len(keys) == len(set(keys))


def test_the_index_side_catches_up_in_a_steady_course_only(tested: list) -> None:
    """Strength follows the story's scores."""
    change = {"steady": [], "worsening": []}
    for episode, tests in tested:
        course = list(symmetries(tests, index=episode.side))
        if episode.story in change and len(course) >= 3:
            change[episode.story].append(course[-1] - course[0])
    assert change["steady"]
    assert min(change["steady"]) > 0.04
    assert all(each < 0.03 for each in change["worsening"])


def test_nobody_hops_early_or_in_pain(tested: list) -> None:
    """As the test's own caution says."""
    for episode, tests in tested:
        pain = {visit.on: visit.pain["worst"] for visit in episode.visits if visit.pain}
        for entry in tests:
            if entry.test == "single_leg_hop":
                weeks = (entry.tested_on - episode.opened_on).days / 7
                assert weeks >= HOP_FROM_WEEK - 1
                assert pain[entry.tested_on] <= HOP_MAX_PAIN


def test_the_same_day_gives_the_same_numbers() -> None:
    """The demo can be compared with itself."""
    person = next(
        person
        for person in plan_caseload(ON)
        if list(physical_tests_of(person.episodes[0], seed=person.record_number))
    )
    again = [
        list(physical_tests_of(person.episodes[0], seed=person.record_number))
        for _ in range(2)
    ]
    assert again[0] == again[1]
