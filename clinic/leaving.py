"""A person leaves a site: their cases go to somebody or stay, by choice."""

from dataclasses import dataclass

from django.db import transaction
from django.db.models import QuerySet

from . import audit
from .access import ROLE_GRANTS, Capability, Role
from .models import AuditEvent, Episode, Screen, Site, User
from .own_sessions import end_sessions
from .versions import claim


class LastLead(Exception):
    """The site would be left without a clinic lead who signs in."""


@dataclass(frozen=True, slots=True)
class Left:
    """What is left behind: open cases, and red-flag answers nobody decided on."""

    cases: int
    red_flags: int

    @property
    def has_any(self) -> bool:
        """Whether somebody has to decide what becomes of it."""
        return bool(self.cases or self.red_flags)


def who_treats(site: Site) -> QuerySet[User]:
    """Return the people of a site who sign in and may treat."""
    treating = [role for role, may in ROLE_GRANTS.items() if Capability.TREAT in may]
    return site.people.filter(is_active=True, role__in=treating).order_by(
        "last_name", "first_name", "username"
    )


def left_by(person: User) -> Left:
    """Count what a person would leave behind; two queries."""
    own = Episode.objects.standing().filter(clinician=person)
    flags = Screen.objects.standing().filter(
        episode__in=own, is_positive=True, decided_at__isnull=True
    )
    return Left(cases=own.open().count(), red_flags=flags.count())


def is_last_lead(person: User) -> bool:
    """Tell whether no other clinic lead of the site signs in."""
    leads = person.site.people.filter(role=Role.LEAD, is_active=True)
    return person.role == Role.LEAD and not leads.exclude(pk=person.pk).exists()


@transaction.atomic
def hand_over_all(person: User, *, by: User, to: User, reason: str) -> list[Episode]:
    """Hand over what a person has in care or undecided; return those cases.

    Each case has its own line on record.
    """
    own = Episode.objects.open_or_undecided().filter(clinician=person)
    cases = list(own.select_related("patient").order_by("pk"))
    for episode in cases:
        # Kept before the claim, which reads the case anew and drops what hangs on it.
        patient = episode.patient
        claim(episode, episode.version)
        episode.clinician = to
        episode.save(update_fields=["clinician"])
        AuditEvent.objects.record(
            audit.CASE_TRANSFERRED,
            by=by,
            patient=patient,
            episode=episode.pk,
            before=str(person),
            after=str(to),
            reason=reason,
        )
    return cases


@transaction.atomic
def deactivate(
    person: User, *, by: User, reason: str, hand_to: User | None = None
) -> list[Episode]:
    """Keep a person out from the next request on; return the cases handed over.

    Without `hand_to` their cases stay where they are. Raises LastLead.
    """
    # Locks the leads, so that two cannot deactivate each other in one moment.
    list(person.site.people.filter(role=Role.LEAD).select_for_update().order_by("pk"))
    if is_last_lead(person):
        raise LastLead
    moved = []
    if hand_to:
        moved = hand_over_all(person, by=by, to=hand_to, reason=reason)
    person.is_active = False
    person.save(update_fields=["is_active"])
    end_sessions(person)
    AuditEvent.objects.record(
        audit.PERSON_DEACTIVATED,
        by=by,
        person=person.username,
        reason=reason,
        cases_handed_over=len(moved),
    )
    return moved
