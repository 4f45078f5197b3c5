"""What a person wishes about the use of their data for audit.

Whoever declines is left out of every shared total and every export; their care and
their record stay as they are.
"""

from datetime import date

from django.db import transaction
from django.utils import timezone

from . import audit
from .audit import Action
from .day_field import STILL_TO_COME
from .models import AuditEvent, Patient, User
from .templatetags.clinic_format import day

BEFORE_BIRTH = "This day is before the person was born."
# How the way is said in the middle of a sentence.
TOLD_WORDS = {
    Patient.Told.IN_PERSON: "told us in person on {day}",
    Patient.Told.IN_WRITING: "told us in writing on {day}",
    Patient.Told.REPRESENTATIVE: "told us through a parent or representative on {day}",
    Patient.Told.REGISTER: "found in a public register of such choices on {day}",
}


class ChoiceRefused(ValueError):
    """The choice cannot stand like this; the words say why."""


def choice_in_words(patient: Patient) -> str:
    """Return the standing refusal as a sentence; nothing where there is none."""
    if not patient.audit_declined_on:
        return ""
    told = TOLD_WORDS[Patient.Told(patient.audit_declined_how)]
    when = told.format(day=day(patient.audit_declined_on))
    return f"Declines the use of their data for audit, {when}."


def wrong_day(patient: Patient, on: date) -> str:
    """Say why the person cannot have told the clinic on a day; nothing if they can."""
    if on > timezone.localdate():
        return STILL_TO_COME
    return BEFORE_BIRTH if on < patient.birth_date else ""


def wrong_to_allow(patient: Patient, on: date) -> str:
    """Say why no refusal can be taken back on a day; nothing if it can."""
    declined_on = patient.audit_declined_on
    if not declined_on:
        return "The person does not decline: their data may be used for audit already."
    if on < declined_on:
        return f"The person declined after that day, on {day(declined_on)}."
    return ""


@transaction.atomic
def decline_audit(patient: Patient, *, by: User, on: date, how: str) -> None:
    """Keep that the person declines, or mend when and how they told the clinic.

    Raises ChoiceRefused for a day to come or before birth, and an unknown way.
    """
    _refuse(wrong_day(patient, on))
    patient.refresh_from_db()
    _keep(patient, audit.AUDIT_DECLINED, by=by, on=on, how=how)


@transaction.atomic
def allow_audit(patient: Patient, *, by: User, on: date, how: str) -> None:
    """Take a refusal back; the day and the way of that stay on the audit trail.

    Raises ChoiceRefused as decline_audit does, and where no refusal stands.
    """
    patient.refresh_from_db()
    _refuse(wrong_day(patient, on) or wrong_to_allow(patient, on))
    _keep(patient, audit.AUDIT_ALLOWED, by=by, on=on, how=how)


def _refuse(words: str) -> None:
    if words:
        raise ChoiceRefused(words)


def _keep(patient: Patient, act: Action, *, by: User, on: date, how: str) -> None:
    """Write the choice and its one line on the trail."""
    if how not in Patient.Told.values:
        raise ChoiceRefused("Choose how the clinic learned what the person wishes.")
    before = _standing(patient)
    declines = act is audit.AUDIT_DECLINED
    patient.audit_declined_on = on if declines else None
    patient.audit_declined_how = how if declines else ""
    patient.save(update_fields=["audit_declined_on", "audit_declined_how"])
    AuditEvent.objects.record(
        act,
        by=by,
        patient=patient,
        before=before,
        after=_standing(patient),
        told_on=on.isoformat(),
        told_how=how,
    )


def _standing(patient: Patient) -> dict[str, str]:
    """Return the choice as the audit trail holds it."""
    declined_on = patient.audit_declined_on
    return {
        "declined_on": declined_on.isoformat() if declined_on else "",
        "how": patient.audit_declined_how,
    }
