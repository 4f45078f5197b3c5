"""The review policy of a site: stored where it differs, defaulted where it does not."""

from typing import Any

from django.db import transaction

from clinic.models import AuditEvent, Site, User
from clinic.versions import site_row

from . import audit
from .models import SitePolicy
from .science.policy import StallPolicy, from_values


def stored_policy(site: Site) -> SitePolicy | None:
    """Return the row of a site that changed something; runs one query."""
    return SitePolicy.objects.filter(site=site).first()


def policy_for(site: Site) -> StallPolicy:
    """Return the policy in force at a site; runs one query."""
    stored = stored_policy(site)
    return from_values(stored.values) if stored else StallPolicy()


@transaction.atomic
def change_policy(
    *, site: Site, by: User, values: dict[str, Any], version: int
) -> SitePolicy:
    """Replace the site's policy; `version` is 0 where nothing was stored yet.

    Raises PolicyError for values that make no policy, StaleEdit when somebody
    else changed it meanwhile.
    """
    from_values(values)
    stored: SitePolicy = site_row(SitePolicy, site, version)
    before = dict(stored.values)
    stored.values, stored.changed_by = values, by
    stored.save()
    AuditEvent.objects.record(audit.POLICY_CHANGED, by=by, before=before, after=values)
    return stored
