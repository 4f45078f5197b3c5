"""Who opened whose record: noted at the one door to a case, written per request."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import timedelta

from django.http import HttpRequest
from django.utils import timezone

from . import audit
from .access import Capability, can
from .models import AuditEvent, Patient, User

# Project assumption: who comes back to a page within these minutes looks once.
ONE_LOOK_MINUTES = 10
Opened = dict[int, Patient]
_OPENED: ContextVar[Opened | None] = ContextVar("opened", default=None)


@contextmanager
def looking() -> Iterator[Opened]:
    """Collect the people whose records are opened inside."""
    opened: Opened = {}
    token = _OPENED.set(opened)
    try:
        yield opened
    finally:
        _OPENED.reset(token)


def note_opened(patient: Patient) -> None:
    """Note that a person's record was fetched to be shown or written in."""
    opened = _OPENED.get()
    if opened is not None:
        opened[patient.pk] = patient


def page_of(request: HttpRequest) -> tuple[str, str]:
    """Return the name of the page and the number of the row in its address."""
    found = request.resolver_match
    if found is None:
        return "", ""
    return found.view_name, str(found.kwargs.get("pk", found.kwargs.get("key", "")))


def put_looks_on_record(request: HttpRequest, opened: Opened) -> None:
    """Write one line for each record that a page was made from."""
    by: User = request.user  # type: ignore[assignment]
    page, row = page_of(request)
    for patient in opened.values():
        if not looked_just_now(by, patient, page=page, row=row):
            AuditEvent.objects.record(
                audit.RECORD_OPENED, by=by, patient=patient, page=page, row=row
            )


def looked_just_now(by: User, patient: Patient, *, page: str, row: str) -> bool:
    """Tell whether a line of the last minutes says the same; one query."""
    since = timezone.now() - timedelta(minutes=ONE_LOOK_MINUTES)
    lines = AuditEvent.objects.filter(
        patient=patient, by=by, action=audit.RECORD_OPENED.code, at__gt=since
    )
    return lines.filter(detail__page=page, detail__row=row).exists()


def put_refusal_on_record(request: HttpRequest, opened: Opened, status: int) -> None:
    """Write that a person was refused: a page their role has not, or a record.

    A row of another site is named by its number alone; its site is not told.
    """
    by: User = request.user  # type: ignore[assignment]
    page, row = page_of(request)
    if not page or (status == 404 and not row):
        return
    is_of_a_case = can(by, Capability.SEE_CASES) and len(opened) == 1
    AuditEvent.objects.record(
        audit.RECORD_REFUSED,
        by=by,
        patient=next(iter(opened.values())) if is_of_a_case else None,
        page=page,
        row=row,
        status=status,
    )
