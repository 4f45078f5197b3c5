"""The whole demonstration: the clinic today, and the years before it."""

from datetime import date

from django.db import transaction

from clinic.models import Site, User

from .clinic import seed_clinic
from .history import bring_in_history
from .looking_back import look_back
from .names import LEAD


@transaction.atomic
def seed_demonstration(on: date) -> Site:
    """Save the invented clinic with its earlier years; all of it or nothing."""
    site = seed_clinic(on)
    lead = User.objects.get(site=site, username=LEAD.username)
    bring_in_history(by=lead, on=on)
    look_back(by=lead, on=on)
    return site
