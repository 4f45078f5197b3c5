"""What a database holds, table by table: rows counted, and all of them summed."""

import hashlib

from django.db.backends.base.base import BaseDatabaseWrapper

from .header import BackupError

CHUNK = 2000


def rows_of(db: BaseDatabaseWrapper) -> dict[str, int]:
    """Return how many rows each table has."""
    counted = {}
    with db.cursor() as cursor:
        for table in tables(db):
            # Names come from the database itself.
            cursor.execute(f"SELECT count(*) FROM {db.ops.quote_name(table)}")  # noqa: S608
            counted[table] = cursor.fetchone()[0]
    return counted


def sums_of(db: BaseDatabaseWrapper) -> dict[str, str]:
    """Return the SHA-256 of each table's rows, in the order of their keys.

    Streams, and is equal for equal rows in two databases of one kind.
    """
    return {table: _sum(db, table) for table in tables(db)}


def refuse_other_content(
    db: BaseDatabaseWrapper, rows: dict[str, int], sums: dict[str, str]
) -> None:
    """Raise BackupError naming the first table that is not as it was backed up."""
    found = sums_of(db)
    if sums == found:
        return
    for table in sorted(set(sums) | set(found)):
        if sums.get(table) != found.get(table):
            raise BackupError(
                f"The table {table} is not what was backed up ({rows.get(table, 0)} "
                "rows then). Do not use this place; take an earlier backup."
            )


def tables(db: BaseDatabaseWrapper) -> list[str]:
    """Return the tables by name."""
    return sorted(db.introspection.table_names())


def _sum(db: BaseDatabaseWrapper, table: str) -> str:
    sum_ = hashlib.sha256()
    quoted = db.ops.quote_name(table)
    # PostgreSQL writes a whole row as text, the same for every client.
    columns = "*" if db.vendor == "sqlite" else f"{quoted}::text"
    with db.chunked_cursor() as cursor:
        cursor.execute(
            f"SELECT {columns} FROM {quoted} ORDER BY {_order(db, table)}"  # noqa: S608
        )
        while rows := cursor.fetchmany(CHUNK):
            for row in rows:
                sum_.update(repr(tuple(row)).encode())
    return sum_.hexdigest()


def _order(db: BaseDatabaseWrapper, table: str) -> str:
    """Return the columns of the key, or all where there is none."""
    with db.cursor() as cursor:
        keys = db.introspection.get_primary_key_columns(cursor, table)
        if not keys:
            about = db.introspection.get_table_description(cursor, table)
            keys = [column.name for column in about]
    return ", ".join(db.ops.quote_name(key) for key in keys)
