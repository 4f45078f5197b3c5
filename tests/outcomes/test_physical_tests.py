"""Physical tests: the files, results of trials, torque and limb symmetry."""

import shutil
from collections.abc import Mapping
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clinic.sourced.sources import MARKS, PUBLISHED_MARKS
from clinic.sourced.strict_toml import DataFileError
from outcomes.science.measures import Belongs, Direction, catalogue
from outcomes.science.physical_file import (
    FOLDER,
    TEST_KEYS,
    load_tests,
    physical_tests,
)
from outcomes.science.physical_tests import (
    NoResult,
    PhysicalTest,
    Summary,
    Symmetry,
    Takes,
    Torque,
    Trial,
    TrialRule,
    in_newtons,
    limb_symmetry,
    summarise,
    torque,
)
from tests.outcomes.vectors import vectors

VECTORS = vectors("physical_tests")
EVERY_TEST = [pytest.param(each, id=key) for key, each in physical_tests().items()]


def result_of(row: dict) -> Summary | NoResult:
    """Summarise the trials of one row."""
    stopped = row.get("stopped", [])
    return summarise(
        physical_tests()[row["test"]],
        [Trial(value, at in stopped) for at, value in enumerate(row["trials"])],
    )


def broken(tmp_path: Path, file: str, old: str, new: str) -> Mapping[str, PhysicalTest]:
    """Load the tests with one passage of one file changed."""
    folder = tmp_path / "physical"
    shutil.copytree(FOLDER, folder)
    text = (folder / file).read_text("utf-8")
    assert old in text
    (folder / file).write_text(text.replace(old, new, 1), "utf-8")
    return load_tests(folder)


@pytest.mark.parametrize(
    ("key", "unit", "better", "takes", "rule", "has_symmetry"),
    [
        ("hip_abductor", "N", "higher", "both_sides", "mean", True),
        ("knee_extensor", "N", "higher", "both_sides", "mean", True),
        ("step_down", "repetitions", "higher", "both_sides", "best", True),
        ("single_leg_squat", "points", "lower", "both_sides", "mean", False),
        ("single_leg_hop", "cm", "higher", "both_sides", "best", True),
        ("running_volume", "km a week", "higher", "person", "mean", False),
    ],
)
def test_each_test_says_its_unit_direction_sides_and_rule(
    key: str, unit: str, better: str, takes: str, rule: str, has_symmetry: bool
) -> None:
    found = physical_tests()[key]
    assert found.unit == unit
    assert found.better is Direction(better)
    assert found.takes is Takes(takes)
    assert found.trials.rule is TrialRule(rule)
    assert found.has_symmetry is has_symmetry


def test_the_six_tests_share_no_key_with_a_questionnaire() -> None:
    assert tuple(physical_tests()) == TEST_KEYS
    assert len(list(FOLDER.glob("*.toml"))) == len(TEST_KEYS)
    assert not set(TEST_KEYS) & set(catalogue())


@pytest.mark.parametrize("about", EVERY_TEST)
def test_everything_has_a_source_notes_and_cautions(about: PhysicalTest) -> None:
    assert about.notes
    assert about.cautions
    assert about.how
    assert {about.source.mark, about.trials.source.mark} <= set(MARKS)
    assert (about.belongs is Belongs.PERSON) is (about.takes is Takes.PERSON)


@pytest.mark.parametrize("about", EVERY_TEST)
def test_no_threshold_without_a_published_source(about: PhysicalTest) -> None:
    """The reference has none for these tests, and the file says so."""
    assert all(each.source.mark in PUBLISHED_MARKS for each in about.thresholds)
    assert about.thresholds or "no" in about.thresholds_note.casefold()


@pytest.mark.parametrize("row", VECTORS["results"])
def test_trials_become_a_result_by_the_tests_rule(row: dict) -> None:
    found = result_of(row)
    assert isinstance(found, Summary)
    assert found.value == pytest.approx(row["value"])
    assert [trial.value for trial in found.trials] == row["trials"]  # all are kept
    assert row.get("says", "") in " ".join(found.notes)


@pytest.mark.parametrize("row", VECTORS["no_results"])
def test_no_result_gets_a_reason(row: dict) -> None:
    found = result_of(row)
    assert isinstance(found, NoResult)
    assert row["says"] in found.reason


@pytest.mark.parametrize("row", VECTORS["forces"])
def test_kg_of_a_device_become_newtons(row: dict) -> None:
    assert in_newtons(row["force"], row["unit"]) == pytest.approx(row["newtons"])


def test_other_units_are_refused() -> None:
    assert in_newtons(12, "lb") == NoResult("The device must show N or kg.")
    assert isinstance(in_newtons(float("nan"), "N"), NoResult)


def torque_of(row: dict) -> Torque | NoResult:
    """Give the torque of one row."""
    return torque(
        physical_tests()[row["test"]],
        force_n=row["force"],
        lever_arm_m=row.get("arm"),
        body_kg=row.get("body"),
    )


@pytest.mark.parametrize("row", VECTORS["torques"])
def test_torque_is_force_times_lever_arm(row: dict) -> None:
    found = torque_of(row)
    assert isinstance(found, Torque)
    assert found.nm == pytest.approx(row["nm"])
    if "nm_per_kg" in row:
        assert found.nm_per_kg == pytest.approx(row["nm_per_kg"])
    else:
        assert found.nm_per_kg is None


@pytest.mark.parametrize("row", VECTORS["no_torques"])
def test_no_torque_gets_a_reason(row: dict) -> None:
    found = torque_of(row)
    assert isinstance(found, NoResult)
    assert row["says"] in found.reason


def symmetry_of(row: dict) -> Symmetry | NoResult:
    """Give the symmetry of one row."""
    return limb_symmetry(
        physical_tests()[row["test"]],
        index_side=row.get("index"),
        other_side=row.get("other"),
    )


@pytest.mark.parametrize("row", VECTORS["symmetries"])
def test_symmetry_is_the_index_side_in_per_cent_of_the_other(row: dict) -> None:
    found = symmetry_of(row)
    assert isinstance(found, Symmetry)
    assert found.percent == pytest.approx(row["percent"])
    assert "may itself be weak" in found.sentence


@pytest.mark.parametrize("row", VECTORS["no_symmetries"])
def test_no_symmetry_gets_a_reason(row: dict) -> None:
    found = symmetry_of(row)
    assert isinstance(found, NoResult)
    assert row["says"] in found.reason


@given(key=st.sampled_from(TEST_KEYS), data=st.data())
def test_a_result_lies_among_its_trials(key: str, data: st.DataObject) -> None:
    about = physical_tests()[key]
    inside = st.floats(about.low, about.high)
    values = data.draw(st.lists(inside, min_size=1, max_size=4))
    found = summarise(about, [Trial(value) for value in values])
    assert isinstance(found, Summary)
    assert min(values) - 1e-9 <= found.value <= max(values) + 1e-9


@pytest.mark.parametrize(
    ("file", "old", "new", "key"),
    [
        ("step_down.toml", 'key = "step_down"', 'key = "step_up"', "key"),
        ("step_down.toml", "low = 0", "low = 60", "low"),
        ("step_down.toml", 'rule = "best"', 'rule = "last"', "trials.rule"),
        ("step_down.toml", "planned = 1", "planned = 0", "trials.planned"),
        ("step_down.toml", 'quantity = "count"', 'quantity = "force"', "lever_arm"),
        ("step_down.toml", "edition = 1", "edition = 1\nedtion = 2", "edtion"),
        ("step_down.toml", 'takes = "both_sides"', 'takes = "person"', "has_symmetry"),
        ("hip_abductor.toml", "low = 0.05", "low = 2", "lever_arm.low"),
        ("hip_abductor.toml", "cautions = [", "cautions = [1,", "cautions"),
        ("running_volume.toml", 'belongs = "person"', 'belongs = "knee"', "takes"),
        ("running_volume.toml", 'mark = "project', 'mark = "sure', "source.mark"),
    ],
)
def test_a_wrong_file_is_refused_with_file_and_key(
    tmp_path: Path, file: str, old: str, new: str, key: str
) -> None:
    with pytest.raises(DataFileError, match=file) as refusal:
        broken(tmp_path, file, old, new)
    assert refusal.value.key.endswith(key)


def test_a_threshold_without_a_published_source_is_refused(tmp_path: Path) -> None:
    row = (
        '[{kind = "mdc", value = 5, applies_to = "total", population = "invented", '
        'method = "invented", source = {citation = "x", mark = "MARK"}}]'
    )
    for mark in ("project assumption", "from memory", "constructed"):
        new = f"thresholds = {row.replace('MARK', mark)}"
        with pytest.raises(DataFileError, match="published"):
            broken(tmp_path / mark, "step_down.toml", "thresholds = []", new)
    found = broken(
        tmp_path / "good",
        "step_down.toml",
        "thresholds = []",
        f"thresholds = {row.replace('MARK', 'confirmed')}",
    )
    assert len(found["step_down"].thresholds) == 1
