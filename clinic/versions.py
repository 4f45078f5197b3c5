"""Two people edit one row: the second one is told, nothing is overwritten."""

from typing import Any

from django.db import models
from django.db.models import F


class StaleEdit(Exception):
    """The row changed after the form was opened; `row` is how it stands now."""

    def __init__(self, row: models.Model) -> None:
        super().__init__(f"{row} was changed meanwhile.")
        self.row = row


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
