"""Which physical results belong to a case."""

from __future__ import annotations

from typing import TYPE_CHECKING, Self

from django.db.models import Q

from clinic.querysets import VoidableQuerySet

if TYPE_CHECKING:
    from clinic.models import Episode


class PhysicalResultQuerySet(VoidableQuerySet):
    """Results of physical tests."""

    def of_episode(self, episode: Episode) -> Self:
        """Keep the episode's own, and those of the patient that fall into it.

        Both legs are tested whichever knee is in care, so a test that was entered in
        the episode of one knee is part of the course of the other.
        """
        others = Q(
            episode__patient_id=episode.patient_id,
            episode__voided_at__isnull=True,
            tested_on__gte=episode.opened_on,
        )
        if episode.discharged_on:
            others &= Q(tested_on__lte=episode.discharged_on)
        return self.filter(Q(episode=episode) | others)

    def in_order(self) -> Self:
        """Order by day, oldest first; ties by row, so that pages agree."""
        return self.order_by("tested_on", "pk")
