"""Which rows a person may see: every clinical query starts here."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any, Self

from django.db import models
from django.db.models import Max, Q

from .access import Capability, can

if TYPE_CHECKING:
    from .models import User


class SiteQuerySet(models.QuerySet[Any]):
    """Rows of one site."""

    def for_user(self, user: User) -> Self:
        """Narrow to the person's own site; nothing for those without cases."""
        if not can(user, Capability.SEE_CASES):
            return self.none()
        return self.filter(site_id=user.site_id)


class VoidableQuerySet(SiteQuerySet):
    """Rows that are voided rather than deleted."""

    def standing(self) -> Self:
        """Leave out what was voided."""
        return self.filter(voided_at__isnull=True)


class EpisodeQuerySet(VoidableQuerySet):
    """Episodes of care."""

    def open(self) -> Self:
        """Keep episodes in care: neither discharged nor voided."""
        return self.standing().filter(discharged_on__isnull=True)

    def open_or_undecided(self) -> Self:
        """Keep episodes in care, and ended ones whose red-flag answer is undecided."""
        waiting = self.model.objects.filter(
            screens__is_positive=True,
            screens__decided_at__isnull=True,
            screens__voided_at__isnull=True,
        )
        return self.standing().filter(
            Q(discharged_on__isnull=True) | Q(pk__in=waiting.values("pk"))
        )

    def shared(self) -> Self:
        """Leave out voided ones, and people who decline the use for audit."""
        return self.standing().filter(patient__audit_declined_on__isnull=True)

    def on_caseload_of(self, user: User, on: date) -> Self:
        """Keep the person's own episodes and those they cover on a day."""
        covered = user.covers.active(on).values("episode_id")
        return self.filter(Q(clinician=user) | Q(pk__in=covered))

    def found_by(self, words: str) -> Self:
        """Keep episodes whose patient's name or record number holds every word."""
        return self.filter(_named(words, of="patient__"))


class PatientQuerySet(SiteQuerySet):
    """People in care, now or once."""

    def found_by(self, words: str) -> Self:
        """Keep people whose name or record number holds every word."""
        return self.filter(_named(words))

    def with_last_discharge(self) -> Self:
        """Add `last_discharged_on`, None for who was never discharged."""
        standing = Q(episodes__voided_at__isnull=True)
        return self.annotate(
            last_discharged_on=Max("episodes__discharged_on", filter=standing)
        )


def _named(words: str, *, of: str = "") -> Q:
    """Ask every word of a name or record number; `of` is the way to the person."""
    asked = Q()
    for word in words.split():
        asked &= (
            Q(**{f"{of}family_name__icontains": word})
            | Q(**{f"{of}given_name__icontains": word})
            | Q(**{f"{of}record_number__icontains": word})
        )
    return asked


class CoverQuerySet(SiteQuerySet):
    """Cover for an absent clinician."""

    def active(self, on: date) -> Self:
        """Keep cover that holds on a day."""
        return self.filter(from_on__lte=on, until_on__gte=on, ended_at__isnull=True)
