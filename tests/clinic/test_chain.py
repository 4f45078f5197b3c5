"""The chain of the audit trail: what was tampered with is found and named."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from io import StringIO
from threading import Thread
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection, transaction
from django.db.migrations.executor import MigrationExecutor

from clinic import audit
from clinic.models import AuditChain, AuditEvent, User
from clinic.models.record import new_line
from clinic.sealing import canonical


@contextmanager
def past_the_triggers() -> Iterator[Any]:
    """Write as somebody would who owns the database."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            for act in ("update", "delete"):
                cursor.execute(f"DROP TRIGGER IF EXISTS audit_refuses_{act}")
        else:
            cursor.execute("SET LOCAL session_replication_role = replica")
        yield cursor
        if connection.vendor == "postgresql":
            cursor.execute("SET LOCAL session_replication_role = origin")


def tamper(statement: str, *values: Any) -> None:
    """Run one statement past the triggers."""
    with past_the_triggers() as cursor:
        cursor.execute(statement, values)


def verify(*heads: str) -> str:
    """Return what the command prints, with its error as the last line."""
    out = StringIO()
    try:
        call_command("verify_audit", *(f"--head={head}" for head in heads), stdout=out)
    except CommandError as error:
        assert error.returncode == 1
        return f"{out.getvalue()}{error}"
    return out.getvalue()


@pytest.fixture
def five(clinician: User) -> list[AuditEvent]:
    """Five lines of one site."""
    return [
        AuditEvent.objects.record(
            audit.SIGNED_IN, by=clinician, number=number, part=0.5
        )
        for number in range(1, 6)
    ]


def test_a_whole_chain_is_said_to_be_whole(five: list[AuditEvent]) -> None:
    """The head and the number of lines are printed."""
    told = verify()
    assert f"Invented Knee Clinic: 5 lines, head {five[-1].hash}" in told
    assert "is whole" in told


def test_each_line_holds_the_hash_of_the_line_before(five: list[AuditEvent]) -> None:
    """The first holds sixty-four zeros."""
    assert [line.position for line in five] == [1, 2, 3, 4, 5]
    before = ["0" * 64, *(line.hash for line in five[:-1])]
    assert [line.previous for line in five] == before


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("detail", '{"number": 33, "part": 0.5}'),
        ("by_name", "Somebody Else"),
        ("action", "session.signed_out"),
        ("at", datetime.fromisoformat("2020-01-01T00:00:00+00:00")),
        ("request_id", "another"),
        ("salt", "0" * 32),
        ("by_id", None),
    ],
)
def test_an_edited_line_is_found(
    five: list[AuditEvent], column: str, value: Any
) -> None:
    """Whatever column was edited, the line is named."""
    table = f"UPDATE clinic_auditevent SET {column} = %s WHERE id = %s"  # noqa: S608
    tamper(table, value, five[2].pk)
    told = verify()
    assert "BROKEN. Line 3 (" in told
    assert "was edited" in told


def test_a_removed_line_is_found(five: list[AuditEvent]) -> None:
    """Its place is named."""
    tamper("DELETE FROM clinic_auditevent WHERE id = %s", five[2].pk)
    assert "Line 3 is missing" in verify()


def test_a_cut_tail_is_found(five: list[AuditEvent]) -> None:
    """The head stands in a second place and says how many there were."""
    tamper("DELETE FROM clinic_auditevent WHERE position > 3")
    assert "Line 4 is missing: the tail was cut, 5 lines were written" in verify()


def test_an_inserted_line_is_found(five: list[AuditEvent], clinician: User) -> None:
    """A copy of a line between two others breaks the place after it."""
    made = new_line(audit.SIGNED_OUT, by=clinician, detail={})
    chain = AuditChain.objects.get(site=clinician.site)
    with past_the_triggers() as cursor:
        for place in (5, 4, 3):
            cursor.execute(
                "UPDATE clinic_auditevent SET position = %s WHERE position = %s",
                [place + 1, place],
            )
        chain.length, chain.head = 2, five[1].hash
        chain.seal(made)
        made.save()
    assert "Line 4 (session.signed_in" in verify()


def test_a_line_added_behind_the_head_is_found(
    five: list[AuditEvent], clinician: User
) -> None:
    """A line that fits is still one too many."""
    made = new_line(audit.SIGNED_OUT, by=clinician, detail={})
    AuditChain.objects.get(site=clinician.site).seal(made)
    made.save()
    assert "Line 6 was added without moving the head" in verify()


def test_reordered_lines_are_found(five: list[AuditEvent]) -> None:
    """Two lines that changed places are where they do not belong."""
    with past_the_triggers() as cursor:
        for old, new in ((2, 99), (3, 2), (99, 3)):
            cursor.execute(
                "UPDATE clinic_auditevent SET position = %s WHERE position = %s",
                [new, old],
            )
    assert "Line 2 (" in verify()
    assert "inserted or moved" in verify()


def test_a_trail_written_anew_is_found_by_a_kept_head(
    five: list[AuditEvent], clinician: User
) -> None:
    """Who owns the database can forge a whole chain, but not a head kept elsewhere."""
    kept = five[-1].hash
    assert "is whole" in verify(kept, five[2].hash)
    tamper("DELETE FROM clinic_auditevent WHERE position > 3")
    AuditChain.objects.update(length=3, head=five[2].hash)
    AuditEvent.objects.record(audit.SIGNED_OUT, by=clinician)
    assert "is whole" in verify()
    assert f"No line has the head {kept}" in verify(kept)


def test_many_lines_at_once_are_chained(clinician: User) -> None:
    """Bulk lines take their places in their order, then single ones go on."""
    lines = [
        new_line(audit.SIGNED_IN, by=clinician, detail={"number": number})
        for number in range(20)
    ]
    AuditEvent.objects.record_all(lines, by=clinician)
    AuditEvent.objects.record(audit.SIGNED_OUT, by=clinician)
    assert "21 lines" in verify()


def test_sites_have_chains_of_their_own(clinician: User, stranger: User) -> None:
    """Writers of one clinic do not wait for those of another."""
    first = AuditEvent.objects.record(audit.SIGNED_IN, by=clinician)
    other = AuditEvent.objects.record(audit.SIGNED_IN, by=stranger)
    nobody = AuditEvent.objects.record(audit.SIGN_IN_FAILED, by=None)
    assert [line.position for line in (first, other, nobody)] == [1, 1, 1]
    assert nobody.site is None
    assert "No site" in verify()


def test_the_canonical_form() -> None:
    """One text for equal values, however a database gives them back."""
    assert canonical({"b": 70.0, "a": [None, True, "é"]}) == (
        '{"a":[null,true,"\\u00e9"],"b":70}'
    )
    assert canonical({2: 1e16}) == '{"2":10000000000000000}'


@pytest.mark.parametrize("value", [0.1, 70.0, 1e-7, 1e16, -0.0, "é\U0001f9b5", [1.5]])
def test_what_a_database_gives_back_has_the_same_hash(
    clinician: User, value: Any
) -> None:
    """Numbers and letters survive the way through the database."""
    AuditEvent.objects.record(audit.SIGNED_IN, by=clinician, value=value)
    assert "is whole" in verify()


@pytest.mark.django_db(transaction=True)
def test_writers_at_the_same_time_make_one_chain(clinician: User) -> None:
    """Eight at once, ten lines each: eighty places, none twice."""

    def write() -> None:
        for _ in range(10):
            with transaction.atomic():
                AuditEvent.objects.record(audit.SIGNED_IN, by=clinician)
        connection.close()

    threads = [Thread(target=write) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert "80 lines" in verify()


def test_an_act_that_fails_leaves_the_chain_as_it_was(
    five: list[AuditEvent], clinician: User
) -> None:
    """The place of a line that was rolled back is given to the next."""
    with pytest.raises(RuntimeError), transaction.atomic():
        AuditEvent.objects.record(audit.SIGNED_OUT, by=clinician)
        raise RuntimeError
    assert AuditEvent.objects.record(audit.SIGNED_OUT, by=clinician).position == 6
    assert "6 lines" in verify()


@pytest.fixture
def migrate_to() -> Iterator[Callable[[str], Any]]:
    """Return a way to another state of the tables; the newest is put back."""

    def go(name: str) -> Any:
        executor = MigrationExecutor(connection)
        executor.migrate([("clinic", name)])
        return executor.loader.project_state([("clinic", name)]).apps

    newest = [key for key in MigrationExecutor(connection).loader.graph.leaf_nodes()]
    yield go
    MigrationExecutor(connection).migrate(newest)


@pytest.mark.django_db(transaction=True)
def test_lines_from_before_the_chain_are_chained(
    clinician: User, migrate_to: Callable[[str], Any]
) -> None:
    """A migration gives each line its place; there and back and there again."""
    for number in range(3):
        AuditEvent.objects.record(audit.SIGNED_IN, by=clinician, number=number)
    migrate_to("0004_choice_about_audit")
    migrate_to("0007_every_line_in_a_chain")
    assert "3 lines" in verify()
