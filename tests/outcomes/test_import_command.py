"""manage.py import_caseload: what it prints, where, and how it ends."""

from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from clinic.models import Episode, User
from outcomes.importing import observations
from outcomes.management.commands import import_caseload
from tests.outcomes.import_files import (
    SAMPLES,
    add_sample_clinicians,
    episodes,
    facts,
    pain,
)


def run(folder: Path, **options: Any) -> tuple[str, str, str]:
    """Return output, errors and the last word of a run."""
    out, err, end = StringIO(), StringIO(), ""
    paths = [str(folder / "patients.csv"), str(folder / "observations.csv")]
    try:
        call_command("import_caseload", *paths, stdout=out, stderr=err, **options)
    except CommandError as error:
        assert error.returncode == 1
        end = str(error)
    return out.getvalue(), err.getvalue(), end


@pytest.fixture
def who(lead: User, clinician: User) -> dict[str, Any]:
    """The options that every run needs."""
    return {"site": lead.site.name, "by": lead.username, "on": "2026-11-25"}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with Ada's episode and one visit."""
    (tmp_path / "patients.csv").write_bytes(episodes())
    (tmp_path / "observations.csv").write_bytes(facts({}))
    return tmp_path


def test_the_sample_comes_in_and_is_summed_up(who: dict[str, Any], lead: User) -> None:
    """Counts go to standard output, nothing to standard error."""
    add_sample_clinicians(lead.site)
    out, err, end = run(SAMPLES, **who)
    assert (err, end) == ("", "")
    assert "Episodes" in out
    assert out.rstrip().endswith("Everything was stored.")
    assert Episode.objects.count() == 80


def test_faults_are_listed_and_the_run_fails(who: dict[str, Any], lead: User) -> None:
    """One line a fault on standard error, in order of file and line."""
    add_sample_clinicians(lead.site)
    out, err, end = run(SAMPLES / "damaged", **who)
    lines = err.splitlines()
    assert lines[0] == (
        "observations.csv line 1856, value: pain is a whole number from 0 to 10; "
        "here it says -1."
    )
    assert len(lines) == 22
    assert out == ""
    assert "Nothing was stored: 22 faults" in end
    assert not Episode.objects.exists()


def test_a_dry_run_stores_nothing(who: dict[str, Any], folder: Path) -> None:
    """It ends well when the files are sound, and says that nothing was stored."""
    out, _, end = run(folder, dry_run=True, **who)
    assert "Nothing was stored yet" in out
    assert end == ""
    assert not Episode.objects.exists()


def test_files_are_named_as_they_are_called(
    who: dict[str, Any], folder: Path, lead: User
) -> None:
    """A fault names the file that the person gave."""
    (folder / "log 2026.csv").write_bytes(facts(pain("worst", "x")))
    err = StringIO()
    paths = [str(folder / "patients.csv"), str(folder / "log 2026.csv")]
    with pytest.raises(CommandError):
        call_command("import_caseload", *paths, stderr=err, **who)
    assert err.getvalue().startswith("log 2026.csv line 2, value: ")


def test_missing_people_lead_to_add_person(who: dict[str, Any], folder: Path) -> None:
    """Each once, with the command that adds them."""
    (folder / "observations.csv").write_bytes(facts({"recorded_by": "m.orrin"}))
    _, err, end = run(folder, **who)
    assert err.count("m.orrin") == 1
    assert "1 person is missing here: m.orrin (1 row). Add them first:" in end
    assert f'manage.py add_person m.orrin --site "{who["site"]}"' in end


def test_an_unknown_site_leads_to_add_site(who: dict[str, Any], folder: Path) -> None:
    """The message holds the commands to run."""
    _, _, end = run(folder, **{**who, "site": "Nowhere"})
    assert 'manage.py add_site "Nowhere"' in end


def test_the_person_must_be_the_lead_of_the_site(
    who: dict[str, Any], folder: Path, clinician: User, stranger: User, lead: User
) -> None:
    """A clinician, a stranger and a lead who left may not bring records in."""
    _, _, end = run(folder, **{**who, "by": clinician.username})
    assert "may not bring in records" in end
    _, _, end = run(folder, **{**who, "by": stranger.username})
    assert "There is no person g.estwick" in end
    lead.is_active = False
    lead.save()
    _, _, end = run(folder, **who)
    assert "active clinic lead" in end


def test_a_day_that_is_none_is_named(who: dict[str, Any], folder: Path) -> None:
    """--on is a date."""
    _, _, end = run(folder, **{**who, "on": "tomorrow"})
    assert "--on takes a date" in end


def test_a_missing_file_is_named(who: dict[str, Any], tmp_path: Path) -> None:
    """No traceback."""
    _, _, end = run(tmp_path, **who)
    assert "patients.csv cannot be opened: No such file or directory" in end


def test_fifty_megabytes_of_rubbish_are_refused_at_once(
    who: dict[str, Any], folder: Path
) -> None:
    """The first line tells, and the rest is not read."""
    with (folder / "observations.csv").open("wb") as file:
        for _ in range(50):
            file.write(b"\x8a,rubbish\n\x01" * (1024 * 1024 // 11))
    _, err, _ = run(folder, **who)
    assert err.splitlines() == [
        "observations.csv line 1: The first line must name the columns: "
        f"{','.join(observations.COLUMNS)}."
    ]


def test_a_bar_shows_on_a_terminal_and_only_for_long_files(
    who: dict[str, Any],
    folder: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Elsewhere standard error holds the faults alone."""
    run(folder, **who)
    assert capsys.readouterr().err == ""
    monkeypatch.setattr(import_caseload, "LONG_FILE_BYTES", 1)
    monkeypatch.setattr(import_caseload.sys.stderr, "isatty", lambda: True)
    run(folder, **who)
    assert "Reading" in capsys.readouterr().err
