"""Two people edit one row: the second one is told, nothing is overwritten."""

from typing import Any

from django.db import models
from django.db.models import F

from .models import Site


class StaleEdit(Exception):
    """The row changed after the form was opened; `row` is how it stands now."""

    def __init__(self, row: models.Model) -> None:
        super().__init__(f"{row} was changed meanwhile.")
        self.row = row


def site_row(model: Any, site: Site, version: int) -> Any:
    """Return a site's one row, locked, moved on and not yet saved.

    `version` is 0 where nothing was stored when the form was opened. Raises
    StaleEdit when somebody else stored or changed it meanwhile.
    """
    stored = model.objects.select_for_update().filter(site=site).first()
    if (stored.version if stored else 0) != version:
        raise StaleEdit(stored or model(site=site))
    row = stored or model(site=site, version=0)
    row.version += 1
    return row


def claim(row: Any, version: int) -> None:
    """Move the row to its next version, or raise StaleEdit."""
    changed = (
        type(row)
        .objects.filter(pk=row.pk, version=version)
        .update(version=F("version") + 1)
    )
    row.refresh_from_db()
    if not changed:
        raise StaleEdit(row)
