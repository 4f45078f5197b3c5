"""Two people changed one visit: what is stored now beside what was typed."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.forms import BoundField, Form
from django.utils.choices import flatten_choices

from clinic import audit
from clinic.models import AuditEvent, Visit
from clinic.templatetags.clinic_format import DASH, day

from .differences import Difference
from .visit_sheet import VisitSheet


@dataclass(frozen=True, slots=True)
class LastChange:
    """Who saved the visit last, and when."""

    by_name: str
    at: datetime


def last_change(visit: Visit) -> LastChange:
    """Return the last act on a visit; runs a query."""
    changed = (
        AuditEvent.objects.filter(
            action=audit.VISIT_CHANGED.code,
            site_id=visit.site_id,
            detail__visit=visit.pk,
        )
        .order_by("-at")
        .first()
    )
    if changed:
        return LastChange(changed.by_name, changed.at)
    return LastChange(str(visit.clinician), visit.recorded_at)


def differences(sheet: VisitSheet) -> list[Difference]:
    """Return the entries that differ, in the order of the page."""
    found = _of_form(sheet.main)
    for line in sheet.programme.lines:
        found += _of_form(line.form, f"{line.name}, ")
    for form in sheet.questionnaires:
        found += _of_form(form, f"{form.about.short_name}, ")
    return found


def _of_form(form: Form, named: str = "") -> list[Difference]:
    pairs = [(b, in_words(b, b.initial), in_words(b, b.data)) for b in form]
    return [
        Difference(f"{named}{bound.label}", stored, typed)
        for bound, stored, typed in pairs
        if stored != typed
    ]


def in_words(bound: BoundField, value: Any) -> str:
    """Return a stored or typed value as a person reads it."""
    if value is None or value == "":
        return DASH
    if isinstance(value, bool):
        return "Yes" if value else "No"
    if isinstance(value, date):
        return day(value)
    choices = getattr(bound.field, "choices", None)
    if choices:
        return str(dict(flatten_choices(choices)).get(str(value), value))
    text = str(value).replace("\r\n", "\n").strip()
    if bound.widget_type == "date" and (typed := _as_day(text)):
        return day(typed)
    return text


def _as_day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None
