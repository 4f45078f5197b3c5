"""The dosing numbers of a site: stored where they differ from the defaults."""

from typing import Any

from django.db import transaction

from clinic.models import AuditEvent, Site, User
from clinic.versions import StaleEdit

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
    stored = SiteDosing.objects.select_for_update().filter(site=site).first()
    if (stored.version if stored else 0) != version:
        raise StaleEdit(stored or SiteDosing(site=site))
    before = _shown(stored) if stored else {"values": {}, "is_advice_on": True}
    stored = stored or SiteDosing(site=site, version=0)
    stored.values, stored.is_advice_on, stored.changed_by = values, is_advice_on, by
    stored.version += 1
    stored.save()
    AuditEvent.objects.record(
        audit.DOSING_CHANGED, by=by, before=before, after=_shown(stored)
    )
    return stored


def _shown(stored: SiteDosing) -> dict[str, Any]:
    return {"values": dict(stored.values), "is_advice_on": stored.is_advice_on}
