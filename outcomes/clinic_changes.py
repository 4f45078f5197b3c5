"""Changes in the clinic that the figures over time show: noted, and withdrawn."""

from datetime import date

from django.db import transaction

from clinic.models import AuditEvent, Site, User
from clinic.voiding import void_row

from . import audit
from .models import ClinicChange


@transaction.atomic
def note_change(*, site: Site, by: User, happened_on: date, words: str) -> ClinicChange:
    """Note what changed in the clinic on a day.

    Raises ValueError for somebody of another site.
    """
    if by.site_id != site.pk:
        raise ValueError("A change is noted by a person of the site.")
    change = ClinicChange.objects.create(
        site=site, by=by, happened_on=happened_on, words=words
    )
    AuditEvent.objects.record(
        audit.CHANGE_NOTED,
        by=by,
        row=change.pk,
        happened_on=happened_on.isoformat(),
        words=words,
    )
    return change


@transaction.atomic
def void_change(change: ClinicChange, *, by: User, why: str) -> bool:
    """Withdraw a change from every figure, keeping it on record.

    Returns False where somebody voided it meanwhile; theirs stays as it is.
    """
    rows = ClinicChange.objects.standing().select_for_update()
    standing = rows.filter(pk=change.pk).first()
    if standing is None:
        return False
    void_row(standing, by=by, why=why)
    AuditEvent.objects.record(audit.CHANGE_VOIDED, by=by, row=change.pk, why=why)
    return True
