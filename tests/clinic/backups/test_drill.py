"""The restore drill: backed up under load, brought back elsewhere, compared whole."""

import os
import subprocess
import sys
import threading
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import psycopg
import pytest
from django.db import connection
from pytest import MonkeyPatch

from clinic.backups import served
from clinic.backups.keys import new_pair
from clinic.backups.making import engine, make_backup
from clinic.backups.tables import rows_of, sums_of
from clinic.models import ContactAttempt, User
from tests.factories import make_akps, make_episode, make_visit
from tests.test_architecture import ROOT

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def secret(settings: object) -> str:
    """A clinic's key; the server knows the public half."""
    secret, public = new_pair()
    settings.BACKUP_PUBLIC_KEYS = [public]
    return secret


@pytest.fixture
def place(tmp_path: Path) -> Iterator[dict[str, str]]:
    """The environment of an installation with nothing in it."""
    kept = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
    here = {**kept, "TROCHLEA_DATA": str(tmp_path / "empty"), "TROCHLEA_KEY": "k" * 64}
    if connection.vendor == "sqlite":
        yield here
        return
    own, name = os.environ["DATABASE_URL"], f"drill_{os.getpid()}"
    with psycopg.connect(own, autocommit=True) as server:
        server.execute(f"CREATE DATABASE {name}")
        yield {**here, "DATABASE_URL": f"{own.rsplit('/', 1)[0]}/{name}"}
        server.execute(f"DROP DATABASE {name} WITH (FORCE)")


def run(place: dict[str, str], *words: str, key: str = "") -> tuple[int, str]:
    """Run a command in the other place and return its code and all it printed."""
    ended = subprocess.run(
        [sys.executable, "manage.py", *words],
        env=place,
        cwd=ROOT,
        input=key,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    return ended.returncode, ended.stdout + ended.stderr


def test_a_backup_under_load_comes_back_row_by_row(
    clinician: User, tmp_path: Path, place: dict[str, str], secret: str
) -> None:
    """While somebody writes without pause; and the place is then full."""
    episode = make_episode(by=clinician)
    make_visit(episode=episode, on=date(2026, 1, 8))
    make_akps(episode=episode, on=date(2026, 1, 8), total=61)
    stop = threading.Event()

    def write_on() -> None:
        while not stop.is_set():
            ContactAttempt.objects.create(
                site_id=episode.site_id,
                episode=episode,
                tried_on=date(2026, 1, 9),
                way="call",
                result="no answer",
                by=clinician,
            )
        connection.close()

    writer = threading.Thread(target=write_on)
    writer.start()
    try:
        path, header = make_backup(tmp_path)
    finally:
        stop.set()
        writer.join()
    assert header.rows["clinic_visit"] == 1
    assert header.rows["clinic_contactattempt"] <= ContactAttempt.objects.count()
    code, said = run(place, "restore", str(path), key=secret)
    assert code == 0, said
    assert "every table is as it was backed up" in said
    assert "No fault found" in said
    code, said = run(place, "restore", str(path), key=secret)
    assert code == 1 and "database here already" in said


def test_nothing_changes_on_the_way(
    clinician: User, tmp_path: Path, place: dict[str, str], secret: str
) -> None:
    """Compared from outside: a backup of the restored place has the same sums."""
    make_visit(episode=make_episode(by=clinician), on=date(2026, 1, 8))
    before = (rows_of(connection), sums_of(connection))
    with engine().snapshot(tmp_path) as (_, rows, sums):
        assert (rows, sums) == before
    path, _ = make_backup(tmp_path)
    code, said = run(place, "restore", str(path), key=secret)
    assert code == 0, said
    shown = (
        "import django; django.setup();"
        "from django.db import connection as c;"
        "from clinic.backups.tables import sums_of; print(sums_of(c))"
    )
    there = subprocess.check_output(
        [sys.executable, "-c", shown],
        env={**place, "DJANGO_SETTINGS_MODULE": "clinic.settings"},
        cwd=ROOT,
        text=True,
    )
    assert there.strip() == str(before[1])


def test_another_key_opens_nothing(
    clinician: User, tmp_path: Path, place: dict[str, str], secret: str
) -> None:
    """And leaves the place empty."""
    path, _ = make_backup(tmp_path)
    assert str(clinician.username).encode() not in path.read_bytes()
    code, said = run(place, "restore", str(path), key=new_pair()[0])
    assert code == 1 and "does not open with this key" in said
    code, said = run(place, "restore", str(path), key=secret)
    assert code == 0, said


@pytest.mark.skipif(connection.vendor == "sqlite", reason="of PostgreSQL")
def test_without_the_client_programs_the_sentence_says_which(
    tmp_path: Path, secret: str, monkeypatch: MonkeyPatch
) -> None:
    """pg_dump is not part of Python."""
    monkeypatch.setattr(served.shutil, "which", lambda name: None)
    with pytest.raises(served.BackupError, match="postgresql-client-"):
        make_backup(tmp_path)
