"""Whom two exports of a site share: counted by the database, from what it kept."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import QuerySet

from ..models import AuditExport, ExportedCase
from .differencing import Overlap


@dataclass(frozen=True, slots=True)
class Beside:
    """An earlier export beside the one at hand, and whether both may stand."""

    earlier: AuditExport
    overlap: Overlap

    @property
    def is_safe(self) -> bool:
        """Whether one minus the other leaves nobody, or enough people."""
        return self.overlap.is_safe()

    @property
    def sentence(self) -> str:
        """What is wrong and what to do; empty where both may stand."""
        return self.overlap.sentence()


def beside_earlier(export: AuditExport) -> list[Beside]:
    """Hold an export against every other of its site, the newest first."""
    others = others_of(export).order_by("-made_at", "-pk")
    mine = cases_of(export)
    return [Beside(other, overlap(cases_of(other), mine)) for other in others]


def refusal(export: AuditExport, besides: Iterable[Beside]) -> str:
    """Say which overlap forbids an export and what to do; nothing if none does.

    All others together count as one, too: two of them may hold all but one of the
    people of a third.
    """
    for beside in besides:
        if beside.sentence:
            return beside.sentence
    others = ExportedCase.objects.filter(export__in=others_of(export))
    together = overlap(others, cases_of(export)).sentence()
    return together and f"All earlier exports are taken as one here. {together}"


def others_of(export: AuditExport) -> QuerySet[AuditExport]:
    """Return what else of the site may be in somebody's hands.

    One that was stopped left no whole file; one that is being written will.
    """
    others = AuditExport.objects.filter(site_id=export.site_id).exclude(pk=export.pk)
    return others.exclude(state=AuditExport.State.STOPPED)


def overlap(earlier: QuerySet[ExportedCase], later: QuerySet[ExportedCase]) -> Overlap:
    """Count people by their episodes: a second knee added is a difference, too.

    Somebody with one knee in both and another in one of them counts on both sides,
    which is stricter than counting people as a whole.
    """
    return Overlap(
        shared=people(later.filter(episode__in=earlier.values("episode"))),
        only_earlier=people(earlier.exclude(episode__in=later.values("episode"))),
        only_later=people(later.exclude(episode__in=earlier.values("episode"))),
    )


def cases_of(export: AuditExport) -> QuerySet[ExportedCase]:
    """Return the cases of an export."""
    return ExportedCase.objects.filter(export=export)


def people(cases: QuerySet[ExportedCase]) -> int:
    """Count the different people of some cases."""
    return cases.values("patient").distinct().count()
