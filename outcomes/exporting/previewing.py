"""What an export would hold: decided as it would be, shown, and taken back."""

from __future__ import annotations

from dataclasses import dataclass

from django.db import transaction
from django.db.models import Model

from clinic.models import User, Visit
from programs.models import Prescription

from ..models import Assessment, AuditExport, PainScore
from .anonymity import Plan
from .beginning import (
    Begun,
    Wanted,
    decide,
    refuse_if,
    too_many_today,
    wrong_days,
)
from .overlapping import Beside, cases_of, people

# Project assumption: enough to see what a row looks like.
SAMPLE = 8
EPISODE_OF: dict[str, tuple[type[Model], str]] = {
    "assessments": (Assessment, "episode"),
    "pain_scores": (PainScore, "episode"),
    "visits": (Visit, "episode"),
    "prescriptions": (Prescription, "phase__programme__episode"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Preview:
    """What an export would hold. Rows of a file are those before the windows."""

    plan: Plan
    people: int
    declined: int
    most_rows: dict[str, int]
    sample: tuple[dict[str, str], ...]
    neighbours: tuple[Beside, ...]
    refusal: str


def preview_export(wanted: Wanted, *, by: User) -> Preview:
    """Decide as `begin_export` would, and keep nothing of it.

    Raises ExportRefused as it does, but for an overlap, which is part of the preview.
    """
    with transaction.atomic():
        refuse_if(wrong_days(wanted) or too_many_today(by))
        preview = preview_of(decide(wanted, by=by))
        transaction.set_rollback(True)
    return preview


def preview_of(begun: Begun) -> Preview:
    """Read what was decided, while it stands."""
    export, cases = begun.export, cases_of(begun.export)
    return Preview(
        plan=begun.plan,
        people=people(cases),
        declined=begun.declined,
        most_rows={"episodes": cases.count(), **most_rows(export)},
        sample=tuple(row.shown for row in cases.order_by("key")[:SAMPLE]),
        neighbours=begun.besides,
        refusal=begun.refusal,
    )


def most_rows(export: AuditExport) -> dict[str, int]:
    """Count the rows of each file before windows keep one of several."""
    return {
        name: model._default_manager.filter(
            **{f"{way}__in": cases_of(export).values("episode")}, voided_at__isnull=True
        ).count()
        for name, (model, way) in EPISODE_OF.items()
    }
