"""Acts on the clinic's own entries: add, retire. A used entry is never deleted."""

from typing import Any

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from clinic.access import Capability, can
from clinic.models import AuditEvent, User

from . import audit
from .models import ClinicExercise


def own_exercises(user: User) -> QuerySet[ClinicExercise]:
    """Return the entries of the person's clinic that can be prescribed."""
    found = ClinicExercise.objects.for_user(user).filter(retired_at__isnull=True)
    return found.order_by("target", "name")


def may_retire(user: User, entry: ClinicExercise) -> bool:
    """Tell whether one added the entry, or leads the clinic."""
    is_own = entry.added_by_id == user.pk and can(user, Capability.TREAT)
    return is_own or can(user, Capability.TREAT_ANY)


@transaction.atomic
def add_exercise(*, by: User, **details: Any) -> ClinicExercise:
    """Add an entry to the library of the person's clinic."""
    made = ClinicExercise.objects.create(site_id=by.site_id, added_by=by, **details)
    AuditEvent.objects.record(
        audit.EXERCISE_ADDED, by=by, exercise=made.pk, name=made.name
    )
    return made


@transaction.atomic
def retire_exercise(entry: ClinicExercise, *, by: User) -> None:
    """Take an entry out of the choice; where it is used it stays readable."""
    entry.retired_at = timezone.now()
    entry.save(update_fields=["retired_at"])
    AuditEvent.objects.record(
        audit.EXERCISE_RETIRED, by=by, exercise=entry.pk, name=entry.name
    )
