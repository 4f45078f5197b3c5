"""The manifest: what an export holds, in words that fit the place."""

import json
import re
from datetime import UTC, datetime, timedelta, timezone

import pytest
from django.conf import settings

from outcomes.exporting.csv_text import Written
from outcomes.exporting.dictionary import as_html, as_json
from outcomes.exporting.generalising import LEVELS
from outcomes.exporting.manifest import JURISDICTIONS, people_shown, wording
from outcomes.science.measures import catalogue
from tests.outcomes.exporting.made_export import made_manifest, made_plan

FILE = Written("assessments.csv", rows=12, sha256="ab" * 32, size=900)


def test_a_file_is_told_with_rows_size_and_print() -> None:
    """Whoever receives it can check each file against the manifest."""
    assert made_manifest((FILE,)).as_dict()["files"] == [
        {
            "name": "assessments.csv",
            "rows": 12,
            "bytes": 900,
            "sha256": "ab" * 32,
            "rows_not_in_it": 4,
        }
    ]


def test_level_rule_and_what_was_held_back_are_told() -> None:
    """The whole order stands there, with what each level tried would have cost."""
    told = json.loads(made_manifest().as_json())
    plan = made_plan()
    assert (told["rule"]["k"], told["rule"]["l"]) == (5, 2)
    assert told["rule"]["most_rows_held_back"] == 0.1
    assert told["level"]["number"] == plan.level.number
    order = told["level"]["order"]
    assert [step["sentence"] for step in order] == [one.sentence for one in LEVELS]
    assert order[-1]["rows_held_back"] == "not tried"
    assert order[plan.level.number]["rows_held_back"] == plan.suppressed_rows
    assert told["held_back"]["why"] == plan.because


def test_versions_and_the_policy_that_moved_verdicts_are_told() -> None:
    """The edition of the app and of each measure, and the site's own numbers."""
    told = made_manifest(policy={"planned_weeks": 10}).as_dict()
    assert told["versions"] == {
        "trochlea": "1",
        "measures": {key: one.edition for key, one in catalogue().items()},
    }
    assert told["review_policy_changed"] == {"planned_weeks": 10}


def test_the_moment_is_in_utc_and_reads_as_no_date_of_a_person() -> None:
    """No file of an export holds a day in the form that a record has."""
    behind = timezone(-timedelta(hours=5))
    manifest = made_manifest(
        extracted_at=datetime(2024, 12, 31, 22, 30, tzinfo=behind), years=(2024, 2024)
    )
    assert manifest.moment == "20250101T033000Z"
    assert manifest.period == "2024"
    for text in (manifest.as_json(), as_json(manifest), as_html(manifest)):
        assert not re.search(r"\d{4}-\d{2}-\d{2}", text)


def test_a_moment_without_a_zone_is_refused() -> None:
    """Nobody could say which hour it was."""
    with pytest.raises(ValueError, match="time zone"):
        made_manifest(
            extracted_at=datetime(2025, 1, 1, tzinfo=UTC).replace(tzinfo=None)
        )


@pytest.mark.parametrize(
    ("count", "shown"),
    [(0, 0), (1, "fewer than 5"), (4, "fewer than 5"), (5, 5), (40, 40)],
)
def test_a_small_count_of_people_is_told_as_small(count: int, shown: int | str) -> None:
    """0 may be shown, and counts of those left out count too (reference 1.3)."""
    assert people_shown(count, k=5) == shown
    told = made_manifest(declined=count).as_dict()
    assert told["people_who_decline_left_out"] == shown


def test_the_word_fits_the_place() -> None:
    """De-identified is the word of the United States alone (reference 1.1, 1.2)."""
    words = {name: wording(name).word for name in JURISDICTIONS}
    assert words == {
        "united-states": "de-identified",
        "united-kingdom": "pseudonymised",
        "european-union": "pseudonymised",
        "elsewhere": "pseudonymised",
    }
    assert "164.514(b)(2)" in wording("united-states").sentence
    for name in JURISDICTIONS[1:]:
        assert "personal data" in wording(name).sentence
    assert settings.JURISDICTION in JURISDICTIONS


def test_an_unknown_place_is_an_error_that_lists_the_known() -> None:
    """No wording is guessed."""
    with pytest.raises(KeyError, match="elsewhere"):
        wording("atlantis")
