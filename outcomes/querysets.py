"""Which outcome rows: scoping and 'standing' come from the clinic's querysets."""

from __future__ import annotations

from typing import TYPE_CHECKING, Self

from django.db.models import Q

from clinic.querysets import SiteQuerySet, VoidableQuerySet

from .science.measures import Belongs, catalogue

if TYPE_CHECKING:
    from clinic.models import Episode


def person_keys() -> list[str]:
    """Return the measures that belong to the person rather than to one knee."""
    return [m.key for m in catalogue().values() if m.belongs is Belongs.PERSON]


class AssessmentQuerySet(VoidableQuerySet):
    """Questionnaires and ratings."""

    def of_episode(self, episode: Episode) -> Self:
        """Keep the knee's own, and the person's own that fall into the episode."""
        persons = Q(
            measure__in=person_keys(),
            episode__patient_id=episode.patient_id,
            assessed_on__gte=episode.opened_on,
        )
        if episode.discharged_on:
            persons &= Q(assessed_on__lte=episode.discharged_on)
        return self.filter(Q(episode=episode) | persons)

    def in_order(self) -> Self:
        """Order by day, oldest first; ties by row, so that pages agree."""
        return self.order_by("assessed_on", "pk")


class ReviewQuerySet(SiteQuerySet):
    """Decisions on flagged cases."""

    def newest_first(self) -> Self:
        """Order by day, newest first."""
        return self.order_by("-reviewed_on", "-pk")
