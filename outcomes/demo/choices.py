"""Invented people who decline the use of their data for audit."""

from __future__ import annotations

from datetime import timedelta

from clinic.models import Episode, Patient, Site, User
from clinic.sharing import decline_audit

# Each declines some days after care began; counted in the order of record numbers.
DECLINING = (
    (17, Patient.Told.IN_PERSON, timedelta(0)),
    (58, Patient.Told.IN_WRITING, timedelta(days=9)),
    (104, Patient.Told.REGISTER, timedelta(days=4)),
)


def decline_some(site: Site, *, by: User) -> None:
    """Let three people decline, always the same ones for a day."""
    people = list(Patient.objects.filter(site=site).order_by("record_number"))
    for place, how, after in DECLINING:
        first = Episode.objects.filter(patient=people[place]).earliest("opened_on")
        told_on = first.opened_on + after
        decline_audit(people[place], by=by, on=told_on, how=how)
