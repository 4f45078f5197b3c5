"""The dosing numbers of a site: stored where they differ from the defaults."""

from typing import Any

from django.db import transaction

from clinic.models import AuditEvent, Site, User
from clinic.versions import site_row

from . import audit
from .dosing.limits import DosingPolicy
from .models import SiteDosing


@transaction.atomic
def change_dosing(
    *,
    site: Site,
    by: User,
    values: dict[str, Any],
    is_advice_on: bool,
    version: int,
) -> SiteDosing:
    """Replace the site's dosing numbers; `version` is 0 where nothing was stored yet.

    Raises PolicyError for values that make no policy, StaleEdit when somebody
    else changed them meanwhile.
    """
    DosingPolicy.from_values(values)
    stored: SiteDosing = site_row(SiteDosing, site, version)
    before = _shown(stored)
    stored.values, stored.is_advice_on, stored.changed_by = values, is_advice_on, by
    stored.save()
    AuditEvent.objects.record(
        audit.DOSING_CHANGED, by=by, before=before, after=_shown(stored)
    )
    return stored


def _shown(stored: SiteDosing) -> dict[str, Any]:
    return {"values": dict(stored.values), "is_advice_on": stored.is_advice_on}
