"""A fault of the stored data, and the list of its kinds that a table can have."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from django.db.models import QuerySet

# Rows fetched at a time: the memory of a check does not grow with the clinic.
CHUNK = 2000


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong: where, what, and what to do about it."""

    where: str
    says: str
    do: str

    def __str__(self) -> str:
        return f"{self.where}: {self.says} {self.do}"


@dataclass(slots=True)
class Counted:
    """What a run looked at, for the sentence at its end."""

    scores: int = 0
    older_editions: int = 0


Check = Callable[[Counted], Iterator[Fault]]


def named(rows: QuerySet, *, says: str, do: str) -> Iterator[Fault]:
    """Yield one fault for each row of a queryset, named by table and number."""
    table = rows.model._meta.db_table
    for pk in rows.order_by("pk").values_list("pk", flat=True).iterator(CHUNK):
        yield Fault(f"{table} {pk}", says, do)
