"""A person about whom something is held in every table, in words that are traceable."""

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

from django.db import models
from django.utils import timezone

from clinic.admitting import cover_case, log_contact
from clinic.models import Patient, Screen, User
from clinic.screening import answer_screen
from outcomes.access_copy.kinds import PLUMBING, Kind
from outcomes.access_copy.reading import KINDS
from outcomes.models import AuditExport, ExportedCase, Letter
from outcomes.recording import FilledForm, name_activity
from outcomes.reviewing import review_case
from outcomes.session_recording import SessionEntry
from programs.models import SuggestionChoice
from tests.factories import (
    akps_answers,
    make_episode,
    make_event,
    make_flow_screen,
    make_letter,
    make_other_care,
    make_patient,
    make_physical,
    make_visit,
)
from tests.programs.plans import make_line, make_programme

# Columns whose text is a key that the code looks up, or that a rule binds to others.
KEYS = {
    *("measure", "test", "primary_measure", "exercise", "unit", "language"),
    *("no_score_reason", "no_value_reason", "key", "kind", "rule"),
}
# What the database asks for beside a text: {table: columns}.
BESIDE = {
    "Screen": ("decided_at", "decided_by"),
    "FlowScreen": ("physician_answered_on", "stopped_on"),
    "Letter": ("signed_at", "signed_by"),
    "Episode": (),
}


def make_full_record(*, by: User, lead: User, on: date) -> Patient:
    """Make one row or more of every kind, by the acts that the pages use."""
    patient = make_patient(by=by)
    case = make_episode(by=by, patient=patient, opened_on=on - timedelta(days=40))
    activity = name_activity(episode=case, words="Invented stairs")
    line = make_line(make_programme(case, on=case.opened_on), on=case.opened_on)
    forms = (
        FilledForm(measure="akps", answers=akps_answers(64), mode="alone"),
        FilledForm(measure="psfs", answers={str(activity.number): 3}, mode="alone"),
    )
    visit = make_visit(
        episode=case,
        on=on - timedelta(days=7),
        note="Invented note",
        pain={"worst": 6},
        pain_during=2,
        next_morning="settled",
        forms=forms,
        session_logs=(SessionEntry(prescription=line, sessions_done=3),),
    )
    answer_screen(
        episode=case,
        by=by,
        form=Screen.Form.FULL,
        answers={"septic": True},
        on=visit.visited_on,
    )
    cover_case(
        case, by=by, covered_by=lead, from_on=on, until_on=on, reason="Invented leave"
    )
    log_contact(case, by=by, tried_on=on, way="call", result="reached", note="x")
    review_case(
        case,
        by=by,
        on=on,
        decision="continue",
        why="x",
        look_again_on=on + timedelta(days=14),
        findings=["target_not_reached"],
    )
    make_physical(episode=case, on=on)
    make_flow_screen(episode=case, on=on)
    make_event(episode=case, on=on)
    make_other_care(episode=case, on=on)
    make_letter(episode=case, on=on)
    keep_suggestion(line, by=by, on=on)
    keep_export(case, by=lead, on=on)
    return patient


def keep_suggestion(line: Any, *, by: User, on: date) -> None:
    """Keep a declined suggestion."""
    SuggestionChoice.objects.create(
        site=by.site,
        prescription=line,
        suggested_on=on,
        kind="load",
        rule="x",
        sentence="Invented sentence.",
        choice="declined",
        words="x",
        chosen_by=by,
    )


def keep_export(case: Any, *, by: User, on: date) -> None:
    """Keep that a case left in an export."""
    made = AuditExport.objects.create(
        site=by.site,
        recipient=f"Invented registry {case.pk}",
        purpose="Invented purpose",
        legal_basis="Invented basis",
        destroy_by_on=on + timedelta(days=365),
        from_on=on - timedelta(days=365),
        until_on=on,
        made_by=by,
    )
    ExportedCase.objects.create(
        site=by.site, export=made, episode=case, patient=case.patient
    )


def mark_texts(patient: Patient, mark: str, *, by: User) -> list[str]:
    """Put a traceable word into every free text about a person; return the words."""
    words = []
    for kind in KINDS:
        # The database refuses to change a line of the audit trail.
        if kind.model.__name__ == "AuditEvent":
            continue
        row = kind.rows(patient).first()
        assert row is not None, f"the record of the test holds no {kind.model}"
        marked = {
            column.name: f"{mark}{len(words) + number:03}x"
            for number, column in enumerate(free_texts(kind))
        }
        words += marked.values()
        beside = {
            name: beside_value(name, by) for name in BESIDE.get(kind.model.__name__, ())
        }
        kind.model._default_manager.filter(pk=row.pk).update(**marked, **beside)
    parts = [{"heading": f"{mark}900x", "text": f"{mark}901x"}]
    Letter.objects.filter(episode__patient=patient).update(body={"parts": parts})
    return [*words, f"{mark}900x", f"{mark}901x"]


def beside_value(name: str, by: User) -> Any:
    """Return a moment, a day or a person, as the name of the column asks."""
    if name.endswith("_at"):
        return timezone.now()
    return timezone.localdate() if name.endswith("_on") else by


def free_texts(kind: Kind) -> Iterator[models.Field]:
    """Yield the columns of a table in which somebody can write what they like."""
    for column in kind.model._meta.concrete_fields:
        is_text = isinstance(column, models.CharField | models.TextField)
        if not is_text or column.choices or column.name in KEYS:
            continue
        if column.name in PLUMBING or column.name == "body":
            continue
        yield column
