"""The data dictionary: read by a library, and readable by a person."""

import json
from html import escape
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from frictionless import Package, Schema, validate

from outcomes.exporting.columns import tables
from outcomes.exporting.dictionary import as_html, as_json, table_schema
from outcomes.exporting.generalising import LEVELS, Shown
from outcomes.science.verdicts import Verdict
from programs.library import library
from tests.outcomes.exporting.made_export import (
    made_manifest,
    made_plan,
    write_made_files,
)


class Reader(HTMLParser):
    """Collects what a page is made of."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.words: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep an element and that it is open."""
        self.tags.append((tag, dict(attrs)))
        if tag not in ("meta", "link", "img"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        """Close the newest element; another tag is a fault of the page."""
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        """Keep the text."""
        self.words.append(data)


@pytest.fixture
def export(tmp_path: Path) -> Path:
    """Return a folder with five files and their dictionary at the full level."""
    files = write_made_files(tmp_path)
    (tmp_path / "dictionary.json").write_text(as_json(made_manifest(files)))
    return tmp_path


def errors_of(folder: Path) -> list[str]:
    """Return what an independent reader of Table Schema finds wrong."""
    report = validate(str(folder / "dictionary.json"), type="package")
    found = [error.message for task in report.tasks for error in task.errors]
    return found + [error.message for error in report.errors]


@pytest.mark.parametrize("level", [level.number for level in LEVELS])
@pytest.mark.parametrize("name", list(tables()))
def test_each_schema_is_a_table_schema(name: str, level: int) -> None:
    """The descriptor is valid, its fields those of the file in their order."""
    table = tables()[name]
    schema = Schema.from_descriptor(table_schema(table, level))
    assert schema.field_names == [column.name for column in table.columns]
    assert schema.missing_values == [""]


def test_the_files_are_what_the_dictionary_says(export: Path) -> None:
    """Types, lists, patterns, keys, sizes and prints hold, by an independent reader."""
    assert len(Package(str(export / "dictionary.json")).resources) == 5
    assert errors_of(export) == []


def test_a_value_that_the_level_drops_does_not_fit(tmp_path: Path) -> None:
    """The reader finds a duration in an export that says it has none."""
    files = write_made_files(tmp_path)
    manifest = made_manifest(files, plan=made_plan(people=16))
    assert manifest.plan.level.name == "duration dropped"
    (tmp_path / "dictionary.json").write_text(as_json(manifest))
    found = errors_of(tmp_path)
    assert found
    assert all("duration_band" in error or "clinician" in error for error in found)


def test_a_changed_file_no_longer_fits(export: Path) -> None:
    """The print in the dictionary is of the file as it was written."""
    file = export / "pain_scores.csv"
    file.write_bytes(file.read_bytes() + b"\r\n")
    assert errors_of(export)


def test_a_dropped_column_says_that_it_is_empty() -> None:
    """What a level leaves is listed, and what it drops is said."""
    fields = fields_of("episodes", level=4)
    assert fields["side"]["description"] == "The knee. Empty in this export."
    assert fields["side"]["constraints"] == {"maxLength": 0}
    assert "Empty" not in fields["age_band"]["description"]
    ages = fields_of("episodes", level=6)["age_band"]["constraints"]["enum"]
    assert ages == ["under 40", "40 and over"]
    full = fields_of("episodes", level=0)
    assert not [name for name in Shown._fields if "Empty" in full[name]["description"]]


def test_numbers_carry_unit_direction_and_range() -> None:
    """Which way is better stands with every score."""
    score = fields_of("assessments", level=0)["score"]
    assert "akps 0 to 100, higher is better." in score["direction"]
    assert score["constraints"] == {"minimum": -7, "maximum": 100}
    worst = fields_of("pain_scores", level=0)["worst"]
    assert (worst["direction"], worst["unit"]) == ("Lower is better.", "points")


def fields_of(name: str, *, level: int) -> dict[str, dict[str, Any]]:
    """Return the fields of a schema by name."""
    fields: Any = table_schema(tables()[name], level)["fields"]
    return {field["name"]: field for field in fields}


def test_the_dictionary_is_for_this_export() -> None:
    """Its title and its sentence are those of the jurisdiction."""
    told = json.loads(as_json(made_manifest()))
    assert told["title"] == "Export for audit, pseudonymised"
    assert "section 171" in told["description"]


def test_the_page_names_every_column_and_verdict() -> None:
    """Nothing that can stand in a file is left unexplained."""
    page = as_html(made_manifest())
    for table in tables().values():
        assert f"<h2>{table.file_name}</h2>" in page
        for column in table.columns:
            assert f"<code>{column.name}</code>" in page
    for verdict in Verdict:
        assert verdict.sentence in page
    for key, one in library().items():
        assert f"<dt><code>{key}</code></dt><dd>{escape(one.name)}</dd>" in page
    assert "UTF-8 without a byte order mark" in page
    assert "fewer than 5" in page


def test_the_page_says_by_which_limits_the_verdicts_were_taken() -> None:
    """With the clinic's own number where it has one, else with its source."""
    page = as_html(made_manifest(policy={"mcid_akps": 12}))
    assert "Anterior Knee Pain Scale (AKPS)" in page
    assert "12 points, set by the clinic" in page
    assert "16.4 points (Crossley 2018)" in page
    assert "none: it takes no verdict" in page


def test_the_page_says_which_rows_stayed_behind() -> None:
    """So that nobody takes a thinned course for the whole of it."""
    page = as_html(made_manifest())
    assert page.count("Not in it: 4. Of several ratings in one window") == 1


def test_the_page_is_whole_and_can_be_read_by_everybody() -> None:
    """No script, nothing from elsewhere; language, title, captions, headed cells."""
    reader = Reader()
    reader.feed(as_html(made_manifest()).removeprefix("<!doctype html>"))
    tags = [tag for tag, _ in reader.tags]
    assert reader.open == []
    assert ("html", {"lang": "en-GB"}) in reader.tags
    assert tags.count("h1") == tags.count("main") == tags.count("title") == 1
    assert tags.count("table") == tags.count("caption") == len(tables()) + 1
    assert not {"script", "link", "img", "iframe", "form"} & set(tags)
    scopes = {attributes.get("scope") for tag, attributes in reader.tags if tag == "th"}
    assert scopes == {"col", "row"}
    targets = {attributes["href"] for tag, attributes in reader.tags if tag == "a"}
    ids = {attributes.get("id") for _, attributes in reader.tags}
    assert {target.removeprefix("#") for target in targets if target} <= ids
    assert not [
        one for one in reader.tags if any("http" in (v or "") for v in one[1].values())
    ]
