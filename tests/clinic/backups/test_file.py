"""The file of a backup: whole or refused, readable at its head, rotated by a rule."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from io import StringIO
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from django.core.management import CommandError, call_command
from hypothesis import given
from hypothesis import strategies as st

from clinic.backups.file import check_sum, write_backup
from clinic.backups.header import (
    FORMAT,
    BackupError,
    Header,
    refuse_other_database,
    refuse_other_edition,
)
from clinic.backups.keys import kept_file, new_pair, public_halves, secret_half
from clinic.backups.making import WEEKS_KEPT, remove_old, to_keep
from clinic.editions import applied, known

NOON = datetime(2026, 6, 1, 12, tzinfo=UTC)
SEALED = bytes(range(256)) * 3


def header(made_at: datetime = NOON, **details: object) -> Header:
    """Return an invented header."""
    return Header(
        trochlea_backup=FORMAT,
        made_at=made_at.isoformat(),
        database="sqlite",
        migrations=("clinic.0001_initial",),
        rows={"clinic_patient": 12},
    )


def written(folder: Path, made_at: datetime = NOON) -> Path:
    """Write a backup whose sealed part is invented."""
    path = folder / f"{made_at:%Y%m%d%H%M%S}.backup"
    write_backup(path, header(made_at), lambda out: out.write(SEALED) and None)
    return path


@pytest.fixture(scope="module")
def whole() -> bytes:
    """The bytes of one backup."""
    with TemporaryDirectory() as folder:
        return written(Path(folder)).read_bytes()


def refused(data: bytes) -> bool:
    """Whether a file of these bytes is refused."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "some.backup"
        path.write_bytes(data)
        try:
            check_sum(path)
        except BackupError:
            return True
        return False


def test_a_whole_file_is_read(tmp_path: Path) -> None:
    """Nothing unfinished is left beside it, and only its owner may open it."""
    path = written(tmp_path)
    assert check_sum(path) == header()
    assert [one.name for one in tmp_path.iterdir()] == [path.name]
    assert path.stat().st_mode & 0o077 == 0


@given(st.data())
def test_a_flipped_bit_is_noticed_anywhere(whole: bytes, data: st.DataObject) -> None:
    """In the header, the sealed part and the checksum itself."""
    at = data.draw(st.integers(0, len(whole) - 1))
    bit = data.draw(st.integers(0, 7))
    damaged = bytearray(whole)
    damaged[at] ^= 1 << bit
    assert refused(bytes(damaged))


@given(st.data())
def test_a_file_cut_anywhere_is_noticed(whole: bytes, data: st.DataObject) -> None:
    """From nothing at all to all but the last byte."""
    assert refused(whole[: data.draw(st.integers(0, len(whole) - 1))])


def test_another_file_is_no_backup() -> None:
    """Not even one with a first line."""
    assert refused(b"a,b\n1,2\n" * 50)


def test_a_failed_writing_leaves_nothing(tmp_path: Path) -> None:
    """A full disk, in the middle."""

    def fail(out: object) -> None:
        raise OSError(28, "No space left on device")

    with pytest.raises(BackupError, match="No space left"):
        write_backup(tmp_path / "a.backup", header(), fail)
    assert list(tmp_path.iterdir()) == []


def test_older_and_newer_tables_are_refused_by_name(db: None) -> None:
    """Each with the way to bring the file back."""
    here = replace(header(), migrations=tuple(sorted(applied())))
    assert set(here.migrations) == known()
    refuse_other_edition(here)
    newer = replace(here, migrations=(*here.migrations, "clinic.9999_later"))
    with pytest.raises(BackupError, match=r"newer edition.*clinic\.9999_later"):
        refuse_other_edition(newer)
    with pytest.raises(BackupError, match=r"older edition.*manage\.py migrate"):
        refuse_other_edition(replace(here, migrations=here.migrations[:-1]))
    with pytest.raises(BackupError, match="DATABASE_URL"):
        refuse_other_database(replace(here, database="another"))


# Rotation


def test_the_newest_of_each_day_and_week_stay() -> None:
    """Two a day for 200 days: 3 days, and 8 weeks."""
    moments = [NOON - timedelta(hours=12 * n) for n in range(400)]
    kept = to_keep(moments, days=3)
    assert {NOON, NOON - timedelta(hours=24), NOON - timedelta(hours=48)} <= kept
    assert len({moment.isocalendar()[:2] for moment in kept}) == WEEKS_KEPT
    assert len(kept) <= 3 + WEEKS_KEPT


def test_backups_that_stopped_are_not_removed() -> None:
    """Age alone removes nothing."""
    old = [NOON - timedelta(days=900 + n) for n in range(3)]
    assert to_keep(old, days=14) == set(old)


def test_what_is_no_backup_is_left_alone(tmp_path: Path) -> None:
    """Whatever it is called."""
    (tmp_path / "mine.backup").write_text("my own notes\n")
    paths = [written(tmp_path, NOON - timedelta(hours=n)) for n in range(3)]
    assert remove_old(tmp_path, days=1) == paths[1:]
    assert (tmp_path / "mine.backup").exists()


# The key


def test_the_secret_half_is_printed_once_and_kept_nowhere(
    settings: object, tmp_path: Path
) -> None:
    """The data folder holds the half that only seals."""
    settings.DATA_DIR, settings.BACKUP_PUBLIC_KEYS = tmp_path, []
    out = StringIO()
    call_command("backup_key", stdout=out)
    secret = secret_half(out.getvalue().replace("  AGE", "AGE"))
    if kept_file().exists():
        assert "SECRET" not in kept_file().read_text()
        assert str(public_halves()[0]) == str(secret.to_public())
        with pytest.raises(CommandError, match="already"):
            call_command("backup_key", stdout=out)
    else:
        assert f"TROCHLEA_BACKUP_KEY={secret.to_public()}" in out.getvalue()


def test_without_a_key_no_backup_is_made(settings: object, tmp_path: Path) -> None:
    """An unsealed copy of the records is never written."""
    settings.DATA_DIR, settings.BACKUP_PUBLIC_KEYS = tmp_path, []
    with pytest.raises(BackupError, match="backup_key"):
        public_halves()
    settings.BACKUP_PUBLIC_KEYS = [new_pair()[0]]
    with pytest.raises(BackupError, match="age1"):
        public_halves()
