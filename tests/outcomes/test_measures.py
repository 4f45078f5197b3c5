"""The catalogue: what each instrument says of itself, and what is refused."""

import re
import shutil
import tomllib
from collections.abc import Mapping
from pathlib import Path

import pytest

from clinic.sourced.sources import MARKS
from clinic.sourced.strict_toml import DataFileError
from outcomes.science import measures
from outcomes.science.measures import (
    PAIN_KINDS,
    PRIMARY_KEYS,
    QUESTIONNAIRES,
    Belongs,
    Direction,
    Measure,
    catalogue,
    load_catalogue,
    measure,
)
from outcomes.science.thresholds import Kind

INSTRUMENTS = Path(measures.__file__).parent / "instruments"
EVERY_MEASURE = [pytest.param(m, id=key) for key, m in catalogue().items()]


def broken(tmp_path: Path, file: str, old: str, new: str) -> Mapping[str, Measure]:
    """Load the catalogue with one passage of one file changed."""
    folder = tmp_path / "instruments"
    shutil.copytree(INSTRUMENTS, folder)
    text = (folder / file).read_text("utf-8")
    assert old in text
    (folder / file).write_text(text.replace(old, new, 1), "utf-8")
    return load_catalogue(folder)


def test_the_catalogue_holds_five_questionnaires_and_six_pain_ratings() -> None:
    assert tuple(catalogue()) == (
        *QUESTIONNAIRES,
        *(f"pain_{kind}" for kind in PAIN_KINDS),
    )


def test_an_unknown_measure_is_answered_with_the_known_ones() -> None:
    with pytest.raises(KeyError, match="akps, koos_pf, lefs, psfs, groc"):
        measure("ikdc")


@pytest.mark.parametrize(
    ("key", "low", "high", "items", "better", "belongs", "at_least"),
    [
        ("akps", 0, 100, 13, Direction.HIGHER, Belongs.KNEE, 13),
        ("koos_pf", 0, 100, 11, Direction.HIGHER, Belongs.KNEE, 6),
        ("lefs", 0, 80, 20, Direction.HIGHER, Belongs.PERSON, 20),
        ("psfs", 0, 10, 5, Direction.HIGHER, Belongs.PERSON, 1),
        ("groc", -7, 7, 1, None, Belongs.PERSON, 1),
        ("pain_worst", 0, 10, 1, Direction.LOWER, Belongs.KNEE, 1),
        ("pain_running", 0, 10, 1, Direction.LOWER, Belongs.KNEE, 1),
    ],
)
def test_an_instrument_is_as_published(
    key: str,
    low: float,
    high: float,
    items: int,
    better: Direction | None,
    belongs: Belongs,
    at_least: int,
) -> None:
    """Ranges and rules: Kujala 1993, KOOS 2012, Binkley 1999, Stratford 1995."""
    about = measure(key)
    assert (about.low, about.high, len(about.items)) == (low, high, items)
    assert (about.better, about.belongs) == (better, belongs)
    assert about.missing.at_least == at_least


@pytest.mark.parametrize(
    ("key", "applies_to", "mdc", "level", "mcid"),
    [
        ("akps", "total", 13, 95, 10),  # Norwegian version 2021; Crossley 2004
        ("koos_pf", "total", 16, 95, 16.4),  # Crossley 2018
        ("lefs", "total", 9, 90, 9),  # Binkley 1999
        ("psfs", "average", 2, 90, 2),  # authors' note on the form; assumption
        ("psfs", "single", 3, 90, 3),  # authors' note on the form; assumption
        ("pain_worst", "total", 2, None, 2),  # assumption; Crossley 2004
        ("pain_stairs", "total", 2, None, 2),  # assumption; Crossley 2004
    ],
)
def test_the_default_thresholds_are_the_projects(
    key: str, applies_to: str | None, mdc: float, level: int | None, mcid: float
) -> None:
    about = measure(key)
    detectable = about.threshold(Kind.MDC, applies_to)
    assert (detectable.value, detectable.level) == (mdc, level)
    assert about.threshold(Kind.MCID, applies_to).value == mcid


@pytest.mark.parametrize(
    ("key", "kind", "values"),
    [
        ("akps", Kind.MDC, [11, 9]),
        ("akps", Kind.MCID, [8, 11]),
        ("koos_pf", Kind.MDC, [11.1]),
        ("koos_pf", Kind.MCID, [17.2]),
        ("lefs", Kind.MDC, [8]),
        ("psfs", Kind.MCID, [1.3, 2.3, 2.7]),
        ("groc", Kind.MCID, [5]),
        ("pain_usual", Kind.MCID, [1.16]),
    ],
)
def test_other_published_values_can_be_chosen(
    key: str, kind: Kind, values: list[float]
) -> None:
    assert [t.value for t in measure(key).alternatives(kind)] == values


def test_values_of_surgery_and_of_other_joints_are_on_record_but_not_offered() -> None:
    kept = [t for m in catalogue().values() for t in m.thresholds if not t.is_offered]
    assert {"shoulder", "6 months"} <= {t.population.split(",")[0][:8] for t in kept}
    assert not any(t.default for t in kept)


def test_only_worst_pain_asks_for_a_share_of_the_first_rating() -> None:
    """Points and per cent for worst pain, points for the others: assumption."""
    asks = {k: measure(f"pain_{k}").threshold(Kind.MCID).percent for k in PAIN_KINDS}
    assert asks == dict.fromkeys(PAIN_KINDS) | {"worst": 30}


@pytest.mark.parametrize("about", EVERY_MEASURE)
def test_every_number_carries_a_source_and_how_far_it_was_checked(
    about: Measure,
) -> None:
    for threshold in about.thresholds:
        assert threshold.source.mark in MARKS
        assert threshold.source.citation
        assert threshold.population
        assert threshold.method
    assert about.citation.citation
    assert about.licence and about.licence_mark in MARKS
    assert about.ages_note and about.recall and about.missing.note


@pytest.mark.parametrize("about", EVERY_MEASURE)
def test_labels_are_short_and_ask_no_question(about: Measure) -> None:
    """Official wording is not shipped: a label is a topic, not a question."""
    labels = [i.label for i in about.items]
    labels += [o.label for i in about.items for o in i.options]
    assert all(len(label) <= 30 and "?" not in label for label in labels)
    assert not any(re.search(r"\b(you|your|I|my)\b", label) for label in labels)


@pytest.mark.parametrize("key", ["akps", "koos_pf", "lefs", "groc"])
def test_every_answer_has_a_label_of_its_own(key: str) -> None:
    for item in measure(key).items:
        labels = [option.label for option in item.options]
        assert all(labels) and len(set(labels)) == len(labels)


@pytest.mark.parametrize(
    ("key", "applies_to", "sem"),
    [
        ("akps", None, 4.690),
        ("koos_pf", None, 5.772),
        ("lefs", None, 3.87),
        ("psfs", None, 0.86),
        ("psfs", "single", 1.29),
    ],
)
def test_the_error_of_one_score_follows_from_the_detectable_change(
    key: str, applies_to: str | None, sem: float
) -> None:
    """Derived: MDC / (z x sqrt 2), with the level that the MDC was given at."""
    assert measure(key).sem(applies_to) == pytest.approx(sem, abs=5e-3)


@pytest.mark.parametrize("key", ["pain_worst", "groc"])
def test_no_error_is_made_up_where_no_level_is_known(key: str) -> None:
    assert measure(key).sem() is None


@pytest.mark.parametrize(
    ("key", "baseline", "amount", "has_room"),
    [
        ("akps", 90, 10, True),
        ("akps", 91, 10, False),
        ("akps", 87, 13, True),
        ("akps", 88, 13, False),
        ("lefs", 71, 9, True),
        ("lefs", 72, 9, False),
        ("pain_worst", 2, 2, True),
        ("pain_worst", 1, 2, False),
        ("groc", 7, 4, True),
    ],
)
def test_a_baseline_near_the_good_end_leaves_no_room(
    key: str, baseline: float, amount: float, has_room: bool
) -> None:
    assert measure(key).has_room(baseline, amount) is has_room


def test_the_goal_of_the_akps_is_90_and_says_that_it_is_assumed() -> None:
    assert measure("akps").goal == 90
    assert "project assumption" in measure("akps").goal_note


def test_the_direction_is_said_in_words() -> None:
    assert [measure(k).better.sentence for k in ("akps", "pain_usual")] == [
        "higher is better",
        "lower is better",
    ]


def test_a_named_activity_may_have_any_number_up_to_99() -> None:
    assert measure("psfs").item("12").label == "Activity 12"
    assert measure("psfs").item("100") is None
    assert measure("akps").item("14") is None


def test_primary_measures_are_questionnaires_with_both_thresholds() -> None:
    for key in PRIMARY_KEYS:
        assert measure(key).threshold(Kind.MDC) and measure(key).threshold(Kind.MCID)


@pytest.mark.parametrize("file", sorted(p.name for p in INSTRUMENTS.glob("*.toml")))
def test_no_instrument_file_lies_unused(file: str) -> None:
    keys = {m.key for m in catalogue().values()} | {"pain"}
    assert Path(file).stem in keys


@pytest.mark.parametrize(
    ("file", "old", "new", "key", "problem"),
    [
        ("akps.toml", "low = 0\n", "", "low", "is missing"),
        ("akps.toml", "low = 0\n", 'low = "0"\n', "low", "must be a number"),
        ("akps.toml", "goal = 90", "goal = 190", "goal", "range"),
        ("akps.toml", 'key = "akps"', 'key = "apks"', "key", "must be one of akps"),
        ("akps.toml", "step = 1", "step = 1\nhue = 3", "hue", "not a known key"),
        ("akps.toml", '["c", 0, "constant"]', '["c", 2, "constant"]', "items", "reach"),
        ("akps.toml", '["c", 0, "constant"]', '["c", 0]', "options", "each must"),
        ("akps.toml", '["c", 0, "con', '["b", 0, "con', "items.1", "different codes"),
        ("akps.toml", "default = true", "default = false", "thresholds", "exactly one"),
        ("akps.toml", "level = 95", "level = 80", "level", "90 or 95"),
        ("akps.toml", 'mark = "derived"', 'mark = "sure"', "mark", "must be one of"),
        ("akps.toml", "at_least = 13", "at_least = 14", "at_least", "between 1 and"),
        ("koos_pf.toml", "[4, 4,", "[4, true,", "options", "each must"),
        ("lefs.toml", 'better = "higher"', 'better = "up"', "better", "must be one of"),
        ("psfs.toml", "[10, 10,", "[10, 9,", "options", "stated range"),
        ("groc.toml", "value = 4", "value = 0", "thresholds", "above 0"),
        ("pain.toml", 'kind = "usual"', 'kind = "worst"', "ratings", "in order"),
        ("pain.toml", "edition = 1", "edition = 1.5", "edition", "whole number"),
    ],
)
def test_a_wrong_file_is_refused_by_name_and_key(
    tmp_path: Path, file: str, old: str, new: str, key: str, problem: str
) -> None:
    with pytest.raises(DataFileError, match=problem) as refused:
        broken(tmp_path, file, old, new)
    assert refused.value.file == file
    assert refused.value.key.endswith(key)


def test_a_file_that_is_not_toml_is_refused_by_name(tmp_path: Path) -> None:
    with pytest.raises(DataFileError, match=r"lefs\.toml: file:"):
        broken(tmp_path, "lefs.toml", 'key = "lefs"', "key = = 1")


def test_the_catalogue_is_read_once_and_cannot_be_changed() -> None:
    assert catalogue() is catalogue()
    with pytest.raises(TypeError):
        catalogue()["akps"] = measure("lefs")  # type: ignore[index]


def test_the_instrument_files_mark_their_labels_as_their_own() -> None:
    for path in INSTRUMENTS.glob("*.toml"):
        text = path.read_text("utf-8")
        assert "project's own" in text[:300].replace("\n# ", " ")
        assert tomllib.loads(text)["edition"] >= 1
