"""A person's own record: whole, theirs alone, and on record before it leaves."""

import json
import re
from collections.abc import Callable
from datetime import date
from io import BytesIO
from typing import Any
from zipfile import ZipFile

import pytest
from django.apps import apps
from django.db import models
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from clinic.access import Role
from clinic.models import AuditEvent, Episode, Patient, User, Visit
from outcomes import audit
from outcomes.access_copy.kinds import PLUMBING
from outcomes.access_copy.reading import KINDS, LEFT_OUT, read_copy
from outcomes.access_copy.shape import Copy
from outcomes.models import Assessment
from outcomes.voiding import void_assessment
from tests.factories import confirm_passphrase, make_akps, make_patient, make_user
from tests.test_architecture import APPS

from .records import make_full_record, mark_texts

pytestmark = pytest.mark.usefixtures("clock")

ASKED = {
    "asked_on": "2026-05-28",
    "asked_by": "person",
    "identity": "Invented passport seen",
    "sent_how": "Handed over",
}


@pytest.fixture
def patient(clinician: User, lead: User, today: date) -> Patient:
    """Somebody with something in every table."""
    return make_full_record(by=clinician, lead=lead, on=today)


@pytest.fixture
def desk(lead: User, signed_in: Callable[[User], Client]) -> Client:
    """The lead's browser, with the passphrase typed just now."""
    client = signed_in(lead)
    confirm_passphrase(client)
    return client


def copied(patient: Patient, today: date) -> Copy:
    """Return the copy of a person."""
    return read_copy(
        Patient.objects.get(pk=patient.pk), asked_on=today, at=timezone.now()
    )


def files_of(client: Client, patient: Patient, **asked: str) -> dict[str, str]:
    """Ask for the copy and return its files."""
    path = reverse("outcomes:access_copy", args=[patient.pk])
    response = client.post(path, {**ASKED, **asked})
    assert response.status_code == 200
    with ZipFile(BytesIO(response.content)) as held:
        return {name: held.read(name).decode() for name in held.namelist()}


def reaches_a_person(model: type[models.Model], seen: frozenset[Any]) -> bool:
    """Tell whether a table points, directly or through others, to a person's care."""
    if model in (Patient, Episode, Visit):
        return True
    return any(
        column.is_relation
        and column.related_model not in seen
        and reaches_a_person(column.related_model, seen | {model})
        for column in model._meta.concrete_fields
        if column.is_relation and column.related_model is not User
    )


# Whole


def test_every_table_about_a_person_is_in_the_copy_or_named_as_left_out() -> None:
    """A new table with a way to a person has to be decided about."""
    held = {
        model._meta.label
        for app in APPS
        for model in apps.get_app_config(app).get_models()
        if reaches_a_person(model, frozenset())
    }
    assert len(held) > 20
    shown = {kind.model._meta.label for kind in KINDS}
    assert held - shown - set(LEFT_OUT) == set()
    assert shown <= held
    assert not shown & set(LEFT_OUT)
    assert all(len(reason) > 20 for reason in LEFT_OUT.values())


def test_every_column_is_shown_or_left_out_with_a_reason(
    patient: Patient, today: date
) -> None:
    """What a kind leaves out or replaces is a column that exists."""
    for kind in KINDS:
        columns = {column.name for column in kind.model._meta.concrete_fields}
        named = {*kind.left_out, *kind.special, *kind.labels}
        assert named <= columns, kind.key
        assert {name.partition(".")[0] for name in kind.titled} <= columns, kind.key
        assert all(kind.left_out.values())
    assert all(PLUMBING.values())


def test_every_kind_has_an_entry(patient: Patient, today: date) -> None:
    """The record of this test holds something in every chapter."""
    chapters = copied(patient, today).chapters
    assert [chapter.key for chapter in chapters if not chapter.entries] == []


def test_everything_written_about_a_person_is_in_both_files(
    patient: Patient, clinician: User, desk: Client
) -> None:
    """Every free text carries a word of its own; none is lost."""
    words = mark_texts(patient, "zq", by=clinician)
    assert len(words) > 30
    files = files_of(desk, patient)
    assert set(files) == {"record.html", "record.json"}
    for text in files.values():
        assert [word for word in words if word not in text] == []


def test_nothing_about_anybody_else_is_in_it(
    patient: Patient, clinician: User, lead: User, today: date, desk: Client
) -> None:
    """Another person with the same clinician leaves no word, name or number."""
    other = make_full_record(by=clinician, lead=lead, on=today)
    words = mark_texts(other, "yk", by=clinician)
    mark_texts(patient, "zq", by=clinician)
    held = "".join(files_of(desk, patient).values())
    assert [word for word in words if word in held] == []
    assert f"Invented registry {other.episodes.get().pk}" not in held


def test_a_line_of_the_trail_says_what_was_done(patient: Patient, today: date) -> None:
    """Acts are told by their sentence, with who and when, this copy's too."""
    trail = next(c for c in copied(patient, today).chapters if c.key == "trail")
    words = [fact.words for entry in trail.entries for fact in entry.facts]
    assert trail.entries[0].title == "1 Jun 2026, 10:00: c.avermore added the patient"
    assert "logged the visit" in words
    assert "added the patient" in words
    assert any("Invented leave" in text for text in words)


def test_what_was_withdrawn_is_in_it_and_says_so(
    patient: Patient, clinician: User, desk: Client
) -> None:
    """A voided row is still held about the person."""
    form = Assessment.objects.get(measure="akps", patient=patient)
    void_assessment(form, by=clinician, why="Typed for the wrong day (invented).")
    page = files_of(desk, patient)["record.html"]
    assert "Withdrawn on 1 Jun 2026 by" in page
    assert "Typed for the wrong day (invented)." in page


def test_a_score_comes_with_what_it_means(patient: Patient, today: date) -> None:
    """Range, direction, and which changes count."""
    chapters = {c.key: c for c in copied(patient, today).chapters}
    akps = next(
        entry
        for entry in chapters["questionnaires"].entries
        if entry.title.startswith("Anterior Knee Pain Scale")
    )
    facts = {fact.name: fact for fact in akps.facts}
    assert facts["score"].words == "64"
    assert facts["meaning"].words.startswith("0 to 100, higher is better.")
    assert "mattered to people" in facts["meaning"].words
    psfs = chapters["questionnaires"].entries[1]
    assert "Invented stairs" in [fact.label for fact in psfs.facts]


def test_one_with_nothing_on_record_has_a_copy(clinician: User, today: date) -> None:
    """Details and the line of admission; every other chapter says nothing is held."""
    chapters = copied(make_patient(by=clinician), today).chapters
    filled = [chapter.key for chapter in chapters if chapter.entries]
    assert filled == ["person", "trail"]


# The files


def test_the_data_say_the_same_as_the_page(patient: Patient, desk: Client) -> None:
    """Days by ISO 8601 in the data; every value of it is on the page."""
    files = files_of(desk, patient)
    data = json.loads(files["record.json"])
    assert data["asked_on"] == "2026-05-28"
    visit = next(c for c in data["chapters"] if c["key"] == "visits")["entries"][0]
    facts = {fact["name"]: fact for fact in visit["facts"]}
    assert facts["visited_on"]["value"] == "2026-05-25"
    assert facts["visited_on"]["words"] == "25 May 2026"
    assert facts["note"]["value"] == "Invented note"
    for chapter in data["chapters"]:
        for entry in chapter["entries"]:
            assert files["record.html"].count(f'id="{chapter["key"]}"') == 1
            for fact in entry["facts"]:
                assert fact["words"] or fact["value"] in ({}, "")


def test_the_page_stands_alone_and_runs_nothing(patient: Patient, desk: Client) -> None:
    """It opens without a network, and what was typed stays text."""
    Episode.objects.filter(patient=patient).update(goals="<script>alert(1)</script>")
    page = files_of(desk, patient)["record.html"]
    assert "<script" not in page
    assert "&lt;script&gt;alert(1)" in page
    assert re.findall(r"(?:src|href)=\"(?!#)[^\"]*\"", page) == []
    assert "url(" not in page
    assert page.count("<h1>") == 1
    assert '<html lang="en-GB">' in page


def test_its_queries_do_not_grow_with_the_record(
    patient: Patient, today: date, django_assert_max_num_queries: Any
) -> None:
    """One for each chapter, one for the activities and two for the person."""
    case = patient.episodes.get()
    for number in range(1, 6):
        make_akps(episode=case, on=date(2026, 5, number), total=50 + number)
    with django_assert_max_num_queries(len(KINDS) + 3):
        copied(patient, today)


# The page and the act


def test_the_copy_is_on_record_before_it_leaves(
    patient: Patient, desk: Client, lead: User
) -> None:
    """One line with who asked, how they were known and how it goes out."""
    path = reverse("outcomes:access_copy", args=[patient.pk])
    response = desk.post(
        path,
        {
            **ASKED,
            "asked_by": "representative",
            "representative": "Ida Invented",
            "authority": "Parent (invented)",
        },
    )
    assert response["Content-Type"] == "application/zip"
    assert response["Content-Disposition"] == (
        'attachment; filename="record-2026-06-01.zip"'
    )
    assert response["Cache-Control"] == "no-store"
    line = AuditEvent.objects.get(action=audit.ACCESS_ANSWERED.code)
    assert (line.patient_id, line.by) == (patient.pk, lead)
    assert line.detail == {
        "asked_on": "2026-05-28",
        "asked_by": "representative",
        "representative": "Ida Invented",
        "authority": "Parent (invented)",
        "identity": "Invented passport seen",
        "sent_how": "Handed over",
    }
    assert "Ida Invented" in desk.get(path).content.decode()


def test_the_page_says_what_to_check_first(patient: Patient, desk: Client) -> None:
    """Other people in the notes, and local law; looking makes no copy."""
    page = desk.get(reverse("outcomes:access_copy", args=[patient.pk])).content.decode()
    assert "Check local law first" in page
    assert "Notes can name relatives" in page
    assert not AuditEvent.objects.filter(action=audit.ACCESS_ANSWERED.code).exists()


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"identity": ""}, "identity"),
        ({"sent_how": " "}, "sent_how"),
        ({"asked_on": "2026-06-02"}, "asked_on"),
        ({"asked_by": "representative", "authority": "x"}, "representative"),
        ({"asked_by": "representative", "representative": "x"}, "authority"),
    ],
)
def test_nothing_leaves_without_the_details(
    patient: Patient, desk: Client, typed: dict[str, str], field: str
) -> None:
    """Each detail is asked for where it is missing."""
    path = reverse("outcomes:access_copy", args=[patient.pk])
    response = desk.post(path, {**ASKED, **typed})
    assert response.status_code == 422
    assert field in response.context["form"].errors
    assert not AuditEvent.objects.filter(action=audit.ACCESS_ANSWERED.code).exists()


def test_a_representative_is_not_kept_where_the_person_asked(
    patient: Patient, desk: Client
) -> None:
    """A name left over in the form does not reach the record."""
    files_of(desk, patient, representative="Left Over", authority="Left over")
    line = AuditEvent.objects.get(action=audit.ACCESS_ANSWERED.code)
    assert line.detail["representative"] == line.detail["authority"] == ""


def test_without_a_fresh_passphrase_there_is_no_copy(
    patient: Patient, lead: User, signed_in: Callable[[User], Client]
) -> None:
    """The lead is asked for it first, on the form and on sending it."""
    client, path = signed_in(lead), reverse("outcomes:access_copy", args=[patient.pk])
    for response in (client.get(path), client.post(path, ASKED)):
        assert response.status_code == 302
        assert response["Location"].startswith(reverse("confirm_passphrase"))
    assert not AuditEvent.objects.filter(action=audit.ACCESS_ANSWERED.code).exists()


def test_only_the_lead_of_the_site_may(
    patient: Patient,
    clinician: User,
    other_site: Any,
    signed_in: Callable[[User], Client],
) -> None:
    """Neither the clinician who treats, nor the lead of another site."""
    path = reverse("outcomes:access_copy", args=[patient.pk])
    elsewhere = make_user(site=other_site, role=Role.LEAD)
    for person, status in ((clinician, 403), (elsewhere, 404)):
        client = signed_in(person)
        confirm_passphrase(client)
        assert client.get(path).status_code == status
        assert client.post(path, ASKED).status_code == status


def test_without_its_line_there_is_no_copy(
    patient: Patient, desk: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A trail that cannot be written keeps the copy back."""

    def fails(*args: Any, **kwargs: Any) -> None:
        raise RuntimeError("The trail is full (invented).")

    monkeypatch.setattr("clinic.models.record.AuditQuerySet.record", fails)
    desk.raise_request_exception = False
    path = reverse("outcomes:access_copy", args=[patient.pk])
    assert desk.post(path, ASKED).status_code == 500
