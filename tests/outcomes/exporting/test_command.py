"""The export from the command line: whole, or nothing of it."""

import hashlib
import io
import signal
import stat
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from clinic.models import Episode, User
from outcomes.exporting import writing
from outcomes.management.commands import export_audit
from outcomes.models import AuditExport
from tests.outcomes.exporting.exported import make_cases, opened, rows_of


@pytest.fixture(autouse=True)
def cases(clinician: User, clock: Callable[[date], None]) -> list[Episode]:
    """A dozen people who are alike for a stranger."""
    return make_cases(by=clinician, count=12)


def export(folder: Path, lead: User, **changes: Any) -> str:
    """Run the command and return what it says."""
    out = io.StringIO()
    given = {
        "out": str(folder),
        "site": lead.site.name,
        "by": lead.username,
        "recipient": "Invented audit office",
        "purpose": "An invented question",
        "legal_basis": "An invented rule",
        "destroy_by": "2099-12-31",
        "from": "2026-01-01",
        "until": "2026-05-31",
    }
    words = [
        f"--{name.replace('_', '-')}={value}"
        for name, value in (given | changes).items()
    ]
    call_command("export_audit", *words, stdout=out)
    return out.getvalue()


def test_it_writes_one_private_file_and_says_its_print(
    tmp_path: Path, lead: User
) -> None:
    """With the level, and how many were left out."""
    said = export(tmp_path, lead)
    (file,) = tmp_path.iterdir()
    data = file.read_bytes()
    assert file.name == "export-for-audit-20260601-100000.zip"
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert len(rows_of(opened(data)["episodes.csv"])) == 12
    assert hashlib.sha256(data).hexdigest() in said
    assert "Level 0" in said and "Left out because they decline" in said
    assert AuditExport.objects.get().state == AuditExport.State.COMPLETE


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"by": "nobody"}, "There is no person nobody"),
        ({"by": "c.avermore"}, "may not export de-identified records"),
        ({"site": "Nowhere"}, "There is no site “Nowhere”"),
        ({"from": "1/2/2026"}, "--from takes a day like 2026-12-31"),
        ({"destroy_by": "2020-01-01"}, "has to lie in the future"),
        ({"legal_basis": " "}, "--legal-basis is empty"),
        ({"until": "2026-01-02"}, "Choose another period"),
        ({"out": "no/such/folder"}, "is no folder"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_is_written(
    tmp_path: Path, lead: User, changes: dict[str, str], words: str
) -> None:
    """Each error says what to do; no export is left on the list."""
    with pytest.raises(CommandError, match=words):
        export(tmp_path, lead, **changes)
    assert list(tmp_path.iterdir()) == [] and not AuditExport.objects.exists()


def test_an_existing_file_is_never_replaced(tmp_path: Path, lead: User) -> None:
    """It is refused before anything goes on the record."""
    taken = tmp_path / "export-for-audit-20260601-100000.zip"
    taken.write_text("somebody's")
    with pytest.raises(CommandError, match="exists already"):
        export(tmp_path, lead)
    assert taken.read_text() == "somebody's" and not AuditExport.objects.exists()


def test_interrupted_it_leaves_no_file(
    tmp_path: Path, lead: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whether by Ctrl-C or by a request to end the program."""
    seen = []

    def ended(*_: Any) -> None:
        seen.append([path.suffix for path in tmp_path.iterdir()])
        signal.raise_signal(signal.SIGTERM)

    monkeypatch.setattr(writing, "manifest_of", ended)
    with pytest.raises(CommandError, match="No file was left") as error:
        export(tmp_path, lead)
    assert error.value.returncode == 130
    assert seen == [[".part"]] and list(tmp_path.iterdir()) == []
    assert AuditExport.objects.get().state == AuditExport.State.STOPPED
    assert signal.getsignal(signal.SIGTERM) is signal.SIG_DFL


def test_a_full_disk_leaves_no_file(
    tmp_path: Path, lead: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The reason is said, and the export is marked as stopped."""

    def full(*_: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(export_audit.os, "fsync", full)
    with pytest.raises(CommandError, match="No space left on device"):
        export(tmp_path, lead)
    assert list(tmp_path.iterdir()) == []
