"""Whom two exports of a site share: counted by the database, from what it kept."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator
from dataclasses import dataclass

from django.db.models import QuerySet

from clinic.models import Episode

from ..models import AuditExport, ExportedCase
from .choosing import codes_of_clinicians, in_order_of_person, quasi_of
from .differencing import Overlap, thin_groups, thin_sentence
from .generalising import Shown, at_level


@dataclass(frozen=True, slots=True)
class Beside:
    """An earlier export beside the one at hand, and whether both may stand."""

    earlier: AuditExport
    overlap: Overlap
    thin: int  # groups of alike rows of which one minus the other leaves too few

    @property
    def sentence(self) -> str:
        """What is wrong and what to do; empty where both may stand."""
        return self.overlap.sentence() or thin_sentence(self.thin)


def beside_earlier(export: AuditExport) -> list[Beside]:
    """Hold an export against every other of its site, the newest first."""
    others = others_of(export).order_by("-made_at", "-pk")
    return [beside(other, export) for other in others]


def beside(earlier: AuditExport, later: AuditExport) -> Beside:
    """Hold two exports against each other, as a whole and group by group."""
    old, new = cases_of(earlier), cases_of(later)
    found = overlap(old, new)
    thin = 0
    if found.shared:
        thin = thin_groups(groups_shown(only_in(new, old)))
        thin += thin_groups(groups_of_earlier(earlier, only_in(old, new)))
    return Beside(earlier, found, thin)


def refusal(export: AuditExport, besides: Iterable[Beside]) -> str:
    """Say which overlap forbids an export and what to do; nothing if none does.

    All others together count as one, too: two of them may hold all but one of the
    people of a third.
    """
    for beside in besides:
        if beside.sentence:
            return beside.sentence
    others = ExportedCase.objects.filter(export__in=others_of(export))
    mine = cases_of(export)
    found = overlap(others, mine)
    thin = thin_groups(groups_shown(only_in(mine, others))) if found.shared else 0
    together = found.sentence() or thin_sentence(thin)
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
        only_earlier=people(only_in(earlier, later)),
        only_later=people(only_in(later, earlier)),
    )


def only_in(
    cases: QuerySet[ExportedCase], others: QuerySet[ExportedCase]
) -> QuerySet[ExportedCase]:
    """Return the cases whose episode is not among the others."""
    return cases.exclude(episode__in=others.values("episode"))


def groups_shown(cases: QuerySet[ExportedCase]) -> Iterator[tuple[int, Hashable]]:
    """Yield person and group of cases that still have what their file shows."""
    rows = cases.order_by("patient_id").values_list("patient_id", "shown")
    for person, shown in rows.iterator():
        yield person, tuple(shown[name] for name in Shown._fields)


def groups_of_earlier(
    export: AuditExport, cases: QuerySet[ExportedCase]
) -> Iterator[tuple[int, Hashable]]:
    """Yield person and group of cases of an export that may have ended.

    What its file showed was wiped then, and is found again from the records as they
    are now, at the level that its manifest names.
    """
    if not export.manifest:
        yield from groups_shown(cases)
        return
    level = int(export.manifest["level"]["number"])
    episodes = Episode.objects.filter(pk__in=cases.values("episode"))
    codes = codes_of_clinicians(episodes)
    for case in in_order_of_person(episodes):
        yield case.patient_id, at_level(quasi_of(case, codes), level)


def cases_of(export: AuditExport) -> QuerySet[ExportedCase]:
    """Return the cases of an export."""
    return ExportedCase.objects.filter(export=export)


def people(cases: QuerySet[ExportedCase]) -> int:
    """Count the different people of some cases."""
    return cases.values("patient").distinct().count()
