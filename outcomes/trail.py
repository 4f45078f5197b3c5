"""Read model of the audit trail of one person, and of what entries said before."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import QuerySet

from clinic import audit as clinic_audit
from clinic.audit import ACTIONS, Kind
from clinic.models import AuditEvent, Episode, Patient, User, Visit

# What a page is called in the trail; another page by the name of its address.
PAGES = {
    "outcomes:case": "the case",
    "outcomes:patient": "the person",
    "outcomes:change_visit": "a visit",
    "outcomes:log_visit": "a new visit",
    "outcomes:letter": "a letter",
    "outcomes:letter_print": "a letter to print",
    "outcomes:bundle": "the file for another system",
    "outcomes:access_copy": "the copy for the person",
    "outcomes:access_report": "who had access",
    "outcomes:trail": "who looked and who changed",
    "programs:programme": "the programme",
    "programs:handout": "the home programme",
}
MODELS: tuple[type[Any], ...] = (Visit, Episode, Patient)
FIELD_CHANGES = (
    clinic_audit.PATIENT_CHANGED.code,
    clinic_audit.EPISODE_CHANGED.code,
    clinic_audit.VISIT_CHANGED.code,
)


@dataclass(frozen=True, slots=True)
class Changed:
    """One field: its name, what it said before, what it said after."""

    name: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class TrailLine:
    """One line of the trail in words."""

    at: datetime
    by: str
    sentence: str
    kind: str
    why: str
    changed: tuple[Changed, ...]
    request_id: str


def trail_of(patient: Patient, *, by: User, kind: str = "") -> QuerySet[AuditEvent]:
    """Return the lines about a person's record, newest first, of one kind or all."""
    lines = AuditEvent.objects.for_user(by).filter(patient=patient)
    if kind in set(Kind):
        lines = lines.filter(action__in=codes_of(Kind(kind)))
    return lines.order_by("-at", "-pk")


def codes_of(kind: Kind) -> list[str]:
    """Return the codes of the acts of a kind."""
    return [code for code, action in ACTIONS.items() if action.kind == kind]


def in_words(line: AuditEvent) -> TrailLine:
    """Return a line as it is read; runs no query."""
    action = ACTIONS.get(line.action)
    sentence = action.sentence if action else line.action
    if page := line.detail.get("page"):
        sentence = f"{sentence}: {page_name(page)}"
    return TrailLine(
        at=line.at,
        by=line.by_name,
        sentence=sentence,
        kind=action.kind if action else "",
        why=str(line.detail.get("why") or line.detail.get("reason") or ""),
        changed=changes_of(line),
        request_id=line.request_id,
    )


def page_name(page: str) -> str:
    """Return what a page is called: "the case"; others by their address's name."""
    return PAGES.get(page) or page.partition(":")[2].replace("_", " ")


def changes_of(line: AuditEvent) -> tuple[Changed, ...]:
    """Return the fields that differ between before and after."""
    before, after = line.detail.get("before"), line.detail.get("after")
    if not (isinstance(before, Mapping) and isinstance(after, Mapping)):
        return ()
    return tuple(
        Changed(label(name), said(name, before.get(name)), said(name, after.get(name)))
        for name in dict.fromkeys([*before, *after])
        if before.get(name) != after.get(name)
    )


def label(name: str) -> str:
    """Return a field's name in words: "next planned on"."""
    return name.replace("_", " ").removesuffix(" id").capitalize()


def said(name: str, value: Any) -> str:
    """Return what a field said, a chosen code by its words; "nothing" if empty."""
    if value in (None, "", "None", {}, [], "[]"):
        return "nothing"
    if isinstance(value, Mapping):
        held = {key: one for key, one in value.items() if one not in (None, "")}
        return (
            ", ".join(f"{label(key)} {one}" for key, one in held.items()) or "nothing"
        )
    if isinstance(value, list):
        return "; ".join(said(name, one) for one in value)
    return CHOICES.get((name, str(value)), str(value))


def _choices() -> dict[tuple[str, str], str]:
    return {
        (field.name, str(code)): str(words)
        for model in MODELS
        for field in model._meta.concrete_fields
        for code, words in field.flatchoices
    }


CHOICES = _choices()


def field_history(episode: Episode, visits: Iterable[Visit]) -> list[TrailLine]:
    """Return what the case, its visits and its person said before; one query.

    Newest first. Assessments that were replaced are rows of their own.
    """
    own = {visit.pk for visit in visits}
    lines = AuditEvent.objects.filter(
        patient=episode.patient_id, action__in=FIELD_CHANGES
    )
    told = [
        in_words(line)
        for line in lines.order_by("-at", "-pk")
        if line.detail.get("episode", episode.pk) == episode.pk
        if "visit" not in line.detail or line.detail["visit"] in own
    ]
    return [line for line in told if line.changed]
