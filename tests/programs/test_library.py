"""The exercise library: ladders, sources, cautions, words, and what is refused."""

import re
import shutil
import tomllib
from collections.abc import Mapping
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from clinic.sourced.strict_toml import DataFileError
from programs import library_checks
from programs.library import (
    FOLDER,
    comes_from,
    easier,
    exercise,
    groups,
    harder,
    ladder,
    ladders,
    leads_to,
    library,
    of_kind,
)
from programs.library_entries import (
    EQUIPMENT,
    IRRITABILITY,
    STRENGTHS,
    TARGETS,
    Exercise,
    Group,
    Kind,
    Tier,
    TierMeasure,
)
from programs.library_reading import read_library

EVERY_ENTRY = [pytest.param(one, id=key) for key, one in library().items()]
EVERY_LADDER = [pytest.param(one, id=key) for key, one in ladders().items()]
EXPECTED_LADDERS = {
    "hip_abduction_lying",
    "hip_abduction_standing",
    "hip_extension",
    "hip_hinge",
    "knee_extension",
    "squat",
    "split_squat",
    "step_up",
    "step_down",
    "leg_press",
    "restricted_flow",
    "foot",
    "calf",
    "trunk",
    "landing",
    "running_return",
    "running_cadence",
}
# Names of makers that the trade uses as if they were words.
BRANDS = {
    "airex",
    "bosu",
    "kaatsu",
    "kinesio",
    "leukotape",
    "swiss ball",
    "theraband",
    "thera-band",
    "trx",
}
# The only capitalised words that may stand inside a sentence.
PROPER_WORDS = {"Achilles"}


def written(entry: Exercise) -> list[str]:
    """Return every text of an entry that a person reads."""
    statements = [one.statement for one in entry.evidence]
    return [entry.name, *entry.how, *entry.cautions, *statements]


def changed(tmp_path: Path, file: str, old: str, new: str) -> Mapping[str, Group]:
    """Read the library with one passage of one file changed."""
    folder = tmp_path / "exercises"
    shutil.copytree(FOLDER, folder)
    text = (folder / file).read_text("utf-8")
    assert old in text
    (folder / file).write_text(text.replace(old, new, 1), "utf-8")
    return read_library(folder)


# Coverage


def test_there_are_sixty_entries_or_more() -> None:
    assert len(library()) >= 60


def test_the_ladders_cover_what_the_trade_uses() -> None:
    assert set(ladders()) == EXPECTED_LADDERS
    assert {one.target for one in groups().values()} == set(TARGETS)
    assert set(groups()) - set(ladders()) == {
        "kneecap_taping",
        "foot_orthoses",
        "education",
    }


def test_every_kind_of_care_has_entries() -> None:
    assert all(of_kind(kind) for kind in Kind)


def test_every_word_of_the_vocabularies_is_used() -> None:
    """A vocabulary that lists what nothing uses is out of date."""
    entries = library().values()
    used = {one for entry in entries for one in entry.equipment}
    assert used == set(EQUIPMENT)
    assert {one for entry in entries for one in entry.irritability} == set(IRRITABILITY)


def test_every_shared_statement_dose_load_and_source_is_used() -> None:
    entries = library().values()
    used = {
        "evidence": {one.key for entry in entries for one in entry.evidence},
        "doses": {entry.dose.key for entry in entries if entry.dose},
        "loads": {entry.load.key for entry in entries if entry.load},
    }
    cited = {one.source.key for entry in entries for one in entry.evidence}
    cited |= {entry.load.source.key for entry in entries if entry.load}
    cited |= {entry.dose.source.key for entry in entries if entry.dose}
    for name, keys in {**used, "sources": cited}.items():
        path = FOLDER / "shared" / f"{name}.toml"
        assert set(tomllib.loads(path.read_text("utf-8"))) == keys, name


# Ladders


@pytest.mark.parametrize("group", EVERY_LADDER)
def test_a_ladder_leads_from_the_irritable_knee_to_sport(group: Group) -> None:
    assert len(group.entries) >= 4
    assert "high" in group.entries[0].irritability
    assert group.entries[-1].irritability == ("low",)
    assert [one.rung for one in group.entries] == list(range(1, len(group.entries) + 1))
    assert group.order_note


@pytest.mark.parametrize("group", EVERY_LADDER)
def test_irritability_never_rises_again_on_the_way_up(group: Group) -> None:
    """Who bears a rung bears those below it."""
    calmest = [
        min(IRRITABILITY.index(i) for i in one.irritability) for one in group.entries
    ]
    assert calmest == sorted(calmest)


@pytest.mark.parametrize("group", EVERY_LADDER)
def test_the_load_tier_never_falls_without_a_reason(group: Group) -> None:
    for lower, upper in pairwise(group.entries):
        assert lower.load and upper.load
        assert upper.load.tier >= lower.load.tier or upper.lower_load_reason


@pytest.mark.parametrize("group", EVERY_LADDER)
def test_neighbours_are_each_others(group: Group) -> None:
    rungs = ladder(group.key)
    assert easier(rungs[0].key) is None
    assert harder(rungs[-1].key) is None
    for lower, upper in pairwise(rungs):
        assert harder(lower.key) is upper
        assert easier(upper.key) is lower


def test_links_between_ladders_are_known_from_both_ends() -> None:
    linked = [one for one in library().values() if one.leads_to]
    assert linked
    for one in linked:
        assert all(one in comes_from(target.key) for target in leads_to(one.key))


def test_going_up_never_comes_back() -> None:
    """Walk every way up, along rungs and links, by depth first search."""

    def ways(key: str) -> set[str]:
        rung = harder(key)
        return {one.key for one in leads_to(key)} | ({rung.key} if rung else set())

    def climb(key: str, seen: tuple[str, ...]) -> None:
        assert key not in seen, (*seen, key)
        for further in ways(key):
            climb(further, (*seen, key))

    for key in library():
        climb(key, ())


def test_entries_outside_ladders_have_no_neighbours() -> None:
    for kind in (Kind.ADJUNCT, Kind.EDUCATION):
        for one in of_kind(kind):
            assert (one.ladder, one.rung) == (None, None)
            assert (easier(one.key), harder(one.key)) == (None, None)


def test_an_unknown_key_or_ladder_is_named() -> None:
    with pytest.raises(KeyError, match="somersault"):
        exercise("somersault")
    with pytest.raises(KeyError, match=r"handstand.*step_up"):
        ladder("handstand")


# Entries


@pytest.mark.parametrize("entry", EVERY_ENTRY)
def test_every_entry_has_evidence_with_source_and_strength(entry: Exercise) -> None:
    assert entry.evidence
    for one in entry.evidence:
        assert one.strength in STRENGTHS
        assert one.source.citation
        assert one.mark


@pytest.mark.parametrize("entry", EVERY_ENTRY)
def test_every_exercise_has_a_dose_and_a_load_with_their_sources(
    entry: Exercise,
) -> None:
    if not entry.kind.is_laddered:
        assert entry.load is None
        return
    assert entry.dose and entry.dose.source.citation and entry.dose.mark
    assert entry.load and entry.load.basis and entry.load.mark
    assert (
        entry.dose.reps
        or entry.dose.scheme
        or entry.dose.hold_seconds
        or (entry.dose.minutes)
    )


@pytest.mark.parametrize("entry", EVERY_ENTRY)
def test_knee_ranges_are_possible(entry: Exercise) -> None:
    if entry.kind.is_laddered and entry.kind is Kind.EXERCISE:
        assert entry.knee_range is not None
    if entry.knee_range:
        low, high = entry.knee_range
        assert 0 <= low <= high <= 140
        named = re.search(r"(\d+) (?:to|and) (\d+) degrees", entry.name)
        if named:
            assert sorted(map(int, named.groups())) == [low, high]


def test_taping_and_orthoses_have_their_limits() -> None:
    """4 weeks for tape, 6 for orthoses: guideline of 2019."""
    limits = {one.key: one.time_limit_weeks for one in of_kind(Kind.ADJUNCT)}
    assert limits == {
        "taping_tailored": 4,
        "taping_self": 4,
        "orthoses_prefabricated": 6,
    }
    for one in of_kind(Kind.ADJUNCT):
        assert one.time_limit and one.time_limit.source.key == "willy_2019"


@pytest.mark.parametrize("entry", EVERY_ENTRY)
def test_restriction_is_flagged_where_a_cuff_is_used(entry: Exercise) -> None:
    assert entry.is_bfr == ("cuff" in entry.equipment)
    assert entry.needs_bfr_screen == entry.is_bfr
    if entry.is_bfr:
        assert entry.dose and entry.dose.scheme == (30, 15, 15, 15)
        assert any("signed screen" in one for one in entry.cautions)
    else:
        assert not any("restriction" in text for text in written(entry))


def test_tiers_follow_from_measured_peaks() -> None:
    """The check values are those of the clinical reference, as published."""
    peaks = {0.9: Tier.LOW, 2.45: Tier.MODERATE, 3.2: Tier.MODERATE}
    peaks |= {4.2: Tier.HIGH, 5.2: Tier.HIGH, 6.6: Tier.VERY_HIGH, 8.5: Tier.VERY_HIGH}
    assert {peak: Tier.of_peak(peak) for peak in peaks} == peaks
    for one in library().values():
        if one.load and one.load.measure is TierMeasure.PEAK:
            assert one.load.times_body_weight is not None
            assert one.load.tier is Tier.of_peak(one.load.times_body_weight)


@pytest.mark.parametrize(
    ("key", "peak", "source"),
    [
        ("walk_brisk", 0.9, "Hart 2022"),
        ("step_up_stair", 3.2, "Hart 2022"),
        ("step_down_stair", 2.8, "Hart 2022"),
        ("run_steady", 5.2, "Hart 2022"),
        ("squat_half", 2.45, "single studies"),
        ("single_leg_squat", 4.2, "single studies"),
        ("lunge_walking", 5.0, "single studies"),
        ("squat_barbell", 6.6, "single studies"),
        ("hop_on_spot", 8.5, "single studies"),
    ],
)
def test_peaks_are_the_published_ones(key: str, peak: float, source: str) -> None:
    """Clinical reference 11.6: healthy knees, times body weight."""
    load = exercise(key).load
    assert load and load.times_body_weight == peak
    assert load.basis == f"peak force, {source}"


# Words


@pytest.mark.parametrize("entry", EVERY_ENTRY)
def test_no_text_names_a_brand(entry: Exercise) -> None:
    for text in written(entry):
        assert not re.search(r"[®™©]", text)
        words = re.sub(r"[^a-z -]", "", text.lower())
        assert not [brand for brand in BRANDS if brand in words], text
        inside = re.findall(r"(?<=[a-z,;:] )[A-Z]\w+", text)
        assert set(inside) <= PROPER_WORDS, text


@pytest.mark.parametrize("entry", EVERY_ENTRY)
def test_how_it_is_done_is_short_and_plain(entry: Exercise) -> None:
    """Two to four sentences of at most 25 words, without the trade's long words."""
    assert 2 <= len(entry.how) <= 4
    jargon = re.compile(
        r"flexion|extension|abduct|adduct|valgus|patell|eccentric|concentric"
        r"|isometric|femor|quadricep|gluteal|dorsi|plantar|bilateral|unilateral",
        re.IGNORECASE,
    )
    for sentence in entry.how:
        assert sentence.endswith(".")
        assert len(sentence.split()) <= 25, sentence
        assert not jargon.search(sentence), sentence


def test_names_are_unique() -> None:
    names = [one.name for one in library().values()]
    assert sorted(names) == sorted(set(names))


def test_the_library_is_read_once() -> None:
    assert library() is library()
    with pytest.raises(TypeError):
        library()["bridge"] = exercise("bridge")  # type: ignore[index]


# What is refused

REFUSALS: list[Any] = [
    ("calf.toml", 'key = "calf_raise"\n', 'key = "bridge"\n', "bridge: occurs twice"),
    ("calf.toml", "[80, 90]", "[90, 80]", "knee_range: must be a lowest"),
    ("calf.toml", "[80, 90]", "[80, 190]", "knee_range: goes past 140"),
    ("calf.toml", '"judged_low"', '"light"', "load: 'light' is not one of"),
    ("calf.toml", '"high", "moderate"', '"fierce"', "irritability: 'fierce'"),
    ("calf.toml", '["high", "moderate"]', '["low"]', "the first rung must suit"),
    ("calf.toml", 'irritability = ["low"]\ndose = "spring_light"', "", "irritability"),
    ("calf.toml", 'dose = "spring_light"', "", "dose: is missing"),
    ("calf.toml", 'load = "judged_moderate"', "", "load: is missing"),
    ("calf.toml", '["calf_practice", "combined"]', "[]", "evidence: is missing"),
    ("calf.toml", '"combined"]', '"hearsay"]', "evidence: 'hearsay'"),
    ("calf.toml", '"walk_run_first"', '"somersault"', "not in the library"),
    ("calf.toml", '"walk_run_first"', '"calf_raise"', "on the same ladder"),
    ("calf.toml", "is_weight_bearing = true", "is_weight_baring = true", "not a known"),
    ("calf.toml", '"judged_low"', '"judged_high"', "lower_load_reason: must stand"),
    ("calf.toml", "[[entries]]", "[[entries", "calf.toml: file"),
    ("step_down.toml", '"hop_on_spot"', '"step_up_low"', "goes in a circle"),
    ("restricted_flow.toml", "is_bfr = true\n", "", "is_bfr: must be set"),
    ("squat.toml", "knee_range", "is_bfr = true\nknee_range", "is_bfr: must be set"),
    ("shared/loads.toml", "= 0.9", "= 4.5", "tier: does not follow"),
    ("shared/loads.toml", '"hart_2022"', '"practice"', "no source"),
    ("shared/doses.toml", "reps = [10, 15]\n", "", "reps: or a scheme"),
    ("shared/evidence.toml", '"guideline grade A"', '"certain"', "strength: 'certain'"),
]


@pytest.mark.parametrize(("file", "old", "new", "message"), REFUSALS)
def test_a_faulty_file_is_refused_by_name_and_key(
    tmp_path: Path, file: str, old: str, new: str, message: str
) -> None:
    with pytest.raises(DataFileError, match=re.escape(message)) as refusal:
        changed(tmp_path, file, old, new)
    assert refusal.value.file and refusal.value.key


def test_a_short_ladder_is_refused(tmp_path: Path) -> None:
    text = (FOLDER / "step_up.toml").read_text("utf-8")
    last = text[text.rindex("[[entries]]") :]
    with pytest.raises(DataFileError, match="4 rungs or more"):
        changed(tmp_path, "step_up.toml", last, "")
    assert library_checks.FEWEST_RUNGS == 4


def test_a_default_dose_fits_the_columns_that_keep_it() -> None:
    """What PostgreSQL would refuse, SQLite would swallow."""
    from programs.models import Prescription

    room = Prescription._meta.get_field("tempo").max_length or 0
    doses = [entry.dose for entry in library().values() if entry.dose]
    assert max(len(dose.tempo or "") for dose in doses) <= room
    keys = Prescription._meta.get_field("exercise").max_length or 0
    assert max(map(len, library())) <= keys
