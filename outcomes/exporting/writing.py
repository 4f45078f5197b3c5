"""The bytes of an export, made while they are taken; the end is on the record."""

from __future__ import annotations

from collections.abc import Generator, Iterable, Iterator, Mapping
from datetime import timedelta

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from clinic.models import AuditEvent, User

from .. import audit
from ..models import AuditExport
from .beginning import Begun, Told, silent
from .columns import tables
from .csv_text import Value, Written, lines
from .dictionary import as_html, as_json
from .edition import APP_VERSION
from .manifest import Manifest
from .overlapping import cases_of
from .rows import Reading
from .zip_stream import ZipStream

# Project assumption: no export of one clinic takes longer; its process has died.
ABANDONED_AFTER = timedelta(hours=6)
CHANGED = (
    "Records of this export were withdrawn, or somebody declined, while it was "
    "written. Nothing of it may be used; begin again."
)


class ExportStopped(Exception):
    """The export ended before its file was whole; the words say why."""


class Writing:
    """The zip of one export, piece by piece; to be taken to its end, or closed.

    Closed early, or failing, it leaves the export marked as stopped.
    """

    def __init__(self, begun: Begun, *, told: Told = silent) -> None:
        self.begun = begun
        self.has_ended = False
        self._pieces = pieces_of(begun, told)

    def __iter__(self) -> Iterator[bytes]:
        return self

    def __next__(self) -> bytes:
        """Make the next piece; whatever prevents it stops the export."""
        try:
            return next(self._pieces)
        except StopIteration:
            self.has_ended = True
            raise
        except BaseException as error:
            self._stop(type(error).__name__)
            raise

    def close(self) -> None:
        """End early; after the end it changes nothing."""
        self._pieces.close()
        self._stop("cancelled")

    def _stop(self, why: str) -> None:
        if not self.has_ended:
            self.has_ended = True
            stop_export(self.begun.export, why=why)


def export_chunks(begun: Begun, *, told: Told = silent) -> Writing:
    """Return the bytes of an export that was begun."""
    return Writing(begun, told=told)


def pieces_of(begun: Begun, told: Told) -> Generator[bytes]:
    """Write five tables, their dictionary and the manifest, then close the record."""
    stream, files = ZipStream(), list[Written]()
    reading = Reading(begun, told=told)
    for table in tables().values():
        rows = Counted(reading.rows_of(table.name))
        yield from stream.member(f"{table.name}.csv", lines(table, rows))
        files.append(written(stream, rows.count))
        refuse_if_changed(begun)
    manifest = manifest_of(begun, files, reading.left_out)
    for name, text in (
        ("dictionary.json", as_json(manifest)),
        ("dictionary.html", as_html(manifest)),
        ("manifest.json", manifest.as_json()),
    ):
        yield from stream.member(name, [text.encode()])
    yield from stream.finish()
    complete_export(begun, manifest, sha256=stream.sha256, size=stream.size)


class Counted:
    """Rows as they pass, counted."""

    def __init__(self, rows: Iterable[Mapping[str, Value]]) -> None:
        self.count = 0
        self._rows = rows

    def __iter__(self) -> Iterator[Mapping[str, Value]]:
        for row in self._rows:
            self.count += 1
            yield row


def written(stream: ZipStream, rows: int) -> Written:
    """Return what the newest member of the zip came to."""
    member = stream.members[-1]
    return Written(member.name, rows, member.sha256, member.size)


def refuse_if_changed(begun: Begun) -> None:
    """Raise ExportStopped if a case of the export may no longer be shared."""
    cases = cases_of(begun.export).filter(
        episode__voided_at__isnull=True,
        episode__patient__audit_declined_on__isnull=True,
    )
    if cases.count() != begun.plan.rows - begun.plan.suppressed_rows:
        raise ExportStopped(CHANGED)


def manifest_of(
    begun: Begun, files: list[Written], left_out: Mapping[str, int]
) -> Manifest:
    """Return the facts of the export as its file tells them."""
    export = begun.export
    return Manifest(
        files=tuple(files),
        plan=begun.plan,
        jurisdiction=settings.JURISDICTION,
        app_version=APP_VERSION,
        extracted_at=timezone.now(),
        declined=begun.declined,
        left_out=dict(left_out),
        years=(export.from_on.year, export.until_on.year),
        policy=begun.policy_changed,
    )


# How it ends


@transaction.atomic
def complete_export(
    begun: Begun, manifest: Manifest, *, sha256: str, size: int
) -> None:
    """Mark an export as complete, wipe its keys, and put its print on the record."""
    export, told = begun.export, manifest.as_dict()
    end(export, AuditExport.State.COMPLETE, manifest=told, sha256=sha256)
    AuditEvent.objects.record(
        audit.EXPORT_COMPLETED,
        by=export.made_by,
        export=export.pk,
        recipient=export.recipient,
        rows={file.name: file.rows for file in manifest.files},
        bytes=size,
        sha256=sha256,
    )


@transaction.atomic
def stop_export(export: AuditExport, *, why: str) -> None:
    """Mark an export as stopped and wipe its keys; one that has ended stays so."""
    try:
        end(export, AuditExport.State.STOPPED)
    except ExportStopped:
        return
    AuditEvent.objects.record(
        audit.EXPORT_STOPPED,
        by=export.made_by,
        export=export.pk,
        recipient=export.recipient,
        why=why,
    )


def end(export: AuditExport, state: str, **facts: object) -> None:
    """End an export that is being written; raises ExportStopped if it ended before."""
    open_ones = AuditExport.objects.filter(
        pk=export.pk, state=AuditExport.State.WRITING
    )
    if not open_ones.update(state=state, ended_at=timezone.now(), **facts):
        raise ExportStopped("The export was ended meanwhile. Begin again.")
    cases_of(export).update(key="", shown={})
    export.refresh_from_db()


def stop_abandoned(by: User) -> None:
    """Stop exports of the site whose process died without a word."""
    old = AuditExport.objects.filter(
        site_id=by.site_id,
        state=AuditExport.State.WRITING,
        made_at__lt=timezone.now() - ABANDONED_AFTER,
    )
    for export in old.select_related("made_by"):
        stop_export(export, why="abandoned")
