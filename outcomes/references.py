"""Reference periods: declared with their numbers, then frozen and only replaced."""

from datetime import date
from typing import Any

from django.db import transaction
from django.utils import timezone

from clinic.models import AuditEvent, Site, User

from . import audit
from .models import FrozenReference


def reference_in_force(site: Site, subject: str) -> FrozenReference | None:
    """Return what a subject is held against now; None where nothing is declared."""
    standing = FrozenReference.objects.filter(site=site, retired_at__isnull=True)
    return standing.select_related("declared_by").filter(subject=subject).first()


def references_of(site: Site) -> dict[str, list[FrozenReference]]:
    """Return by subject all that was ever declared, the one in force first."""
    rows = FrozenReference.objects.filter(site=site).select_related("declared_by")
    found: dict[str, list[FrozenReference]] = {}
    for row in rows.order_by("-declared_at", "-pk"):
        found.setdefault(row.subject, []).append(row)
    return found


@transaction.atomic
def declare_reference(
    *,
    site: Site,
    by: User,
    subject: str,
    from_on: date,
    until_on: date,
    numbers: dict[str, Any],
    why: str,
) -> FrozenReference:
    """Freeze the numbers of a period for one subject; the earlier one is retired.

    `numbers` is plain JSON and never recomputed. Raises ValueError for somebody of
    another site, or for a period that does not end after its first day.
    """
    if by.site_id != site.pk:
        raise ValueError("A reference period is declared by a person of the site.")
    if until_on <= from_on:
        raise ValueError("A reference period ends after its first day.")
    standing = FrozenReference.objects.select_for_update().filter(
        site=site, subject=subject, retired_at__isnull=True
    )
    earlier = standing.first()
    standing.update(retired_at=timezone.now())
    made = FrozenReference.objects.create(
        site=site,
        subject=subject,
        from_on=from_on,
        until_on=until_on,
        numbers=numbers,
        why=why,
        declared_by=by,
    )
    _put_on_record(made, replaces=earlier.pk if earlier else None)
    return made


def _put_on_record(made: FrozenReference, *, replaces: int | None) -> None:
    AuditEvent.objects.record(
        audit.REFERENCE_DECLARED,
        by=made.declared_by,
        reference=made.pk,
        replaces=replaces,
        subject=made.subject,
        from_on=made.from_on.isoformat(),
        until_on=made.until_on.isoformat(),
    )
