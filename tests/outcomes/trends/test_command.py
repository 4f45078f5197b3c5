"""The caseload review from the command line."""

import csv
from datetime import date, timedelta
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from clinic.admitting import discharge
from clinic.models import Episode, Site, User
from clinic.sharing import decline_audit
from outcomes.trends.plain_text import section_lines, table_lines
from outcomes.trends.sections import Block, Cell, LeftOut, Section, Table
from outcomes.trends_titles import TITLES
from tests.factories import make_akps, make_episode, make_other_care, make_user

pytestmark = pytest.mark.usefixtures("clock")


@pytest.fixture
def case(clinician: User, today: date) -> Episode:
    """A case of 20 weeks with two scores and an injection."""
    opened_on = today - timedelta(weeks=20)
    case = make_episode(by=clinician, opened_on=opened_on, irritability="low")
    make_akps(episode=case, on=opened_on, total=60)
    make_akps(episode=case, on=opened_on + timedelta(weeks=12), total=75)
    make_other_care(episode=case, on=today)
    return case


def review(site: Site, *options: str) -> str:
    """Return what the command prints."""
    out = StringIO()
    call_command("review_caseload", "--site", site.name, *options, stdout=out)
    return out.getvalue()


@pytest.mark.parametrize("key", TITLES)
def test_each_section_is_printed(key: str, case: Episode) -> None:
    """Its answers, each with what it counts."""
    printed = review(case.site, "--section", key)
    assert "n = " in printed


@pytest.mark.parametrize("key", TITLES)
def test_each_section_can_tell_of_nothing(key: str, site: Site) -> None:
    """A clinic without a case gets true sentences as well."""
    printed = review(site, "--section", key)
    assert "n = 0 of 0" in printed
    assert "nan" not in printed


def test_the_head_says_what_the_review_is_about(case: Episode, clinician: User) -> None:
    """Site, day, period, and what narrows it."""
    printed = review(
        case.site,
        *("--section", "given", "--section", "given"),
        *("--from", "2026-01-01", "--until", "2026-05-31"),
        *("--side", "left", "--clinician", clinician.username),
        *("--duration", "3 to 12 months", "--baseline", "middle third"),
    )
    lines = printed.splitlines()
    assert lines[0] == f"Caseload review of {case.site.name}, 1 Jun 2026"
    assert lines[1] == "Cases opened from 1 Jan 2026 to 31 May 2026."
    assert f"Clinician: {clinician}." in lines
    assert "Knee: Left knee." in lines
    assert printed.count("What was given\n") == 1
    assert "n = 1 of 1 cases of the period" in printed


@pytest.mark.parametrize(
    "options",
    [
        ("--from", "2026-03-01"),
        ("--side", "right"),
        ("--duration", "under 3 months"),
        ("--baseline", "better third"),
    ],
)
def test_a_choice_narrows_the_cases(case: Episode, options: tuple[str, ...]) -> None:
    """The case opened in January, left, after four months, in the middle third."""
    printed = review(case.site, "--section", "given", *options)
    assert "No case was opened in the period." in printed


def test_nobody_of_another_site_is_counted(case: Episode, other_site: Site) -> None:
    """The totals of a site are its own."""
    printed = review(other_site, "--section", "given")
    assert "No case was opened in the period." in printed


def test_people_who_decline_are_left_out_and_counted(
    case: Episode, clinician: User, today: date
) -> None:
    """In the numbers they do not appear; that they are missing is said."""
    decline_audit(case.patient, by=clinician, on=today, how="in person")
    printed = review(case.site, "--section", "given", "--section", "stalled")
    assert "No case was opened in the period." in printed
    assert "Left out: 1 person who declines the use of their data for audit" in printed


def test_a_discharged_case_is_read(case: Episode, clinician: User, today: date) -> None:
    """Reviews and care of ended cases belong to the review."""
    discharge(case, by=clinician, on=today, reason="goals met", note="", version=1)
    assert "No case of the period is in care." in review(
        case.site, "--section", "stalled"
    )


# Files


def test_tables_are_written_one_file_each(case: Episode, tmp_path: Path) -> None:
    """Every table is a CSV; the text with every n stands beside them."""
    folder = tmp_path / "new" / "review"
    printed = review(case.site, "--section", "given", "--csv", str(folder))
    assert printed.strip() == f"Wrote 3 tables and report.txt to {folder}."
    names = sorted(path.name for path in folder.iterdir())
    assert names == ["given_1.csv", "given_2.csv", "given_3.csv", "report.txt"]
    with (folder / "given_3.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    assert rows[0] == ["Component", "High", "Moderate", "Low", "All cases"]
    assert rows[1][0] == "Injection"
    assert rows[1][3:] == ["1 of 1", "1 of 1"]
    assert "n = 1 of 1 cases" in (folder / "report.txt").read_text(encoding="utf-8")


def test_a_folder_in_use_is_refused(case: Episode, tmp_path: Path) -> None:
    """Nothing is overwritten, and no half of an earlier review stays."""
    (tmp_path / "mine.txt").write_text("x")
    with pytest.raises(CommandError, match="holds files already"):
        review(case.site, "--csv", str(tmp_path))
    with pytest.raises(CommandError, match="is a file"):
        review(case.site, "--csv", str(tmp_path / "mine.txt"))
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


# Errors


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--from", "yesterday"), "--from: Write the day like 2026-12-31"),
        (("--from", "2026-05-01", "--until", "2026-04-01"), "--until: This day is"),
        (("--clinician", "nobody.known"), "Nobody called 'nobody.known' has a case"),
        (("--side", "both"), "argument --side"),
        (("--section", "everything"), "argument --section"),
    ],
)
def test_what_cannot_be_is_said(
    case: Episode, options: tuple[str, ...], words: str
) -> None:
    """By the option's own name."""
    with pytest.raises(CommandError, match=words):
        review(case.site, *options)


def test_a_clinician_of_another_site_is_unknown(
    case: Episode, stranger: User, clinician: User
) -> None:
    """The error names those who treat here."""
    with pytest.raises(CommandError, match=f"Those who have: {clinician.username}"):
        review(case.site, "--clinician", stranger.username)


def test_somebody_without_a_case_is_said_to_have_none(
    case: Episode, site: Site
) -> None:
    """A new colleague has nothing to review yet."""
    person = make_user(site=site)
    with pytest.raises(CommandError, match="has a case at"):
        review(case.site, "--clinician", person.username)


def test_an_unknown_site_is_said_with_those_there_are(case: Episode) -> None:
    """A mistyped name is easily mended."""
    with pytest.raises(CommandError, match=f"The sites: '{case.site.name}'"):
        call_command("review_caseload", "--site", "Nowhere")


# Plain text


def section(**changes: Any) -> Section:
    """Return a small section."""
    block: dict[str, Any] = {
        "title": "A block",
        "says": "1 of 2 did.",
        "table": Table("Numbers", ("What", "How many"), ((Cell("Did"), Cell("1")),)),
        "n": 1,
        "of": 2,
        "of_what": "cases",
        "left_out": (LeftOut("lost", 1),),
        "notes": ("A rule.",),
    }
    return Section(
        key="any",
        title="A section",
        question="How many?",
        blocks=(Block(**block | changes),),
        cautions=("Careful.",),
        sets={},
    )


def test_a_section_is_written_in_full() -> None:
    """Everything that the page shows, in the same order."""
    assert list(section_lines(section())) == [
        "A section",
        "=========",
        "How many?",
        "! Careful.",
        "",
        "A block",
        "-------",
        "1 of 2 did.",
        "",
        "Numbers",
        "What  How many",
        "----  --------",
        "Did   1",
        "",
        "n = 1 of 2 cases",
        "Left out: 1 lost",
        "- A rule.",
    ]


def test_a_table_without_rows_is_not_drawn() -> None:
    """A head over nothing says nothing."""
    lines = list(section_lines(section(table=Table("Numbers", ("What",), ()))))
    assert "What" not in lines


def test_long_entries_go_on_below() -> None:
    """A column is as wide as its limit or its longest word; nothing is cut off."""
    long = "measured at the planned time and once more"
    table = Table("Wide", ("What", long), ((Cell("x" * 60), Cell("1")),))
    lines = list(table_lines(table))
    assert f"{'What':60}  measured at the" in lines
    assert f"{'':60}  planned time and" in lines
    assert f"{'x' * 60}  1" in lines
    assert all(line == line.rstrip() for line in lines)
