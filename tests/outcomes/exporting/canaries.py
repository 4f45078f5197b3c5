"""A patient who is written full of marks, so that a leak of any word can be seen.

Every text column of every model gets a mark of its own in every row, by looking at the
models: a column that comes tomorrow is marked as well, and a model that comes without
a row here fails the test that uses this.
"""

import hashlib
from collections.abc import Iterator
from datetime import date, timedelta
from itertools import count
from typing import Any

from django.apps import apps
from django.db import IntegrityError, models, transaction
from django.utils import timezone

from clinic.admitting import cover_case, discharge, log_contact
from clinic.models import Episode, User
from outcomes.models import (
    Assessment,
    CaseReview,
    ClinicChange,
    FrozenReference,
    Letter,
    PendingImport,
    Wording,
)
from outcomes.recording import FilledForm, name_activity, record_assessment
from programs.lines import Line
from programs.models import ClinicExercise, SuggestionChoice
from programs.own_exercises import add_exercise
from tests.factories import (
    make_event,
    make_flow_screen,
    make_letter,
    make_other_care,
    make_physical,
    make_screened_episode,
    make_visit,
)
from tests.programs.plans import make_line, make_programme

# Columns that hold a key of ours rather than words; a word there would not work.
KEYS = {
    "Assessment.language",
    "Assessment.measure",
    "Episode.primary_measure",
    "ExportedCase.key",
    "AuditExport.sha256",
    "PhysicalResult.test",
    "PhysicalResult.unit",
    "Prescription.exercise",
    "User.password",
    "Wording.language",
    "Wording.measure",
}
# A column of a model, which Django types and does not let be named so.
Column = Any
# Models without a row of their own here, each with its reason.
NOT_MADE = {
    "Submission": "holds a print of a form, no words",
    "AuditExport": "made by the export itself",
    "ExportedCase": "made by the export itself",
    "AuditChain": "holds hashes and a length, no words",
    "OpenSession": "words for a device, of the people who work at the clinic",
    "SignInPolicy": "roles and days, no words of anybody",
    "AuditEvent": "the database refuses to change a line; its words are of the acts",
}
_numbers = count(1)


def text_columns(model: type[models.Model]) -> Iterator[Column]:
    """Yield the columns of a model that can hold words of somebody."""
    for field in model._meta.concrete_fields:
        is_text = isinstance(field, models.CharField | models.TextField)
        if is_text and not field.choices:
            if f"{model.__name__}.{field.name}" not in KEYS:
                yield field


def project_models() -> Iterator[type[models.Model]]:
    """Yield every model of the project."""
    for app in ("clinic", "programs", "outcomes"):
        yield from apps.get_app_config(app).get_models()


def mark(longest: int | None = None) -> str:
    """Return a word that stands nowhere else."""
    word = f"Qx{next(_numbers):05}zW"
    assert longest is None or len(word) <= longest
    return word


def mark_everything() -> list[str]:
    """Write a mark into each text column of each row; return all marks."""
    marks: list[str] = []
    for model in project_models():
        if model.__name__ in NOT_MADE:
            continue
        rows = list(model._base_manager.all())
        columns = list(text_columns(model))
        assert rows or not columns, f"make a {model.__name__} in canaries.py"
        marks += [
            word
            for row in rows
            for column in columns
            if (word := written(model, row, column))
        ]
    return marks


def written(model: type[models.Model], row: models.Model, column: Column) -> str:
    """Write a mark into one cell, unless the database wants the cell empty."""
    word = mark(getattr(column, "max_length", None))
    try:
        with transaction.atomic():
            model._base_manager.filter(pk=row.pk).update(**{column.name: word})
    except IntegrityError:
        return ""
    return word


def make_marked_case(*, by: User, opened_on: date) -> tuple[Episode, list[str]]:
    """Make a case with a row of everything; return the marks in its JSON columns."""
    case = make_screened_episode(by=by, opened_on=opened_on, sport="x", goals="x")
    on = opened_on + timedelta(weeks=3)
    visit = make_visit(
        episode=case,
        on=on,
        note="x",
        pain={"worst": 5},
        pain_during=3,
        next_morning="settled",
    )
    visit_of_no_count = make_visit(episode=case, on=on + timedelta(days=1))
    visit_of_no_count.voided_at, visit_of_no_count.voided_by = timezone.now(), by
    visit_of_no_count.void_reason = "x"
    visit_of_no_count.save()
    measure_everything(case, on, by)
    plan(case, on, by)
    log_contact(case, by=by, tried_on=on, way="call", result="no answer", note="x")
    cover_case(case, by=by, covered_by=by, from_on=on, until_on=on, reason="x")
    assert visit.pk
    marks = write_json(case, on, by)
    end = on + timedelta(weeks=6)
    discharge(case, by=by, on=end, reason="other", note="x", version=1)
    return case, marks


def measure_everything(case: Episode, on: date, by: User) -> None:
    """Record activities, a form without a score, and a physical test."""
    numbers = [
        str(name_activity(episode=case, words=words).number) for words in ("x", "y")
    ]
    for day, ratings in ((case.opened_on, (3, 2)), (on, (5, 4))):
        answers = dict(zip(numbers, ratings, strict=True))
        form = FilledForm(measure="psfs", answers=answers, mode="alone")
        record_assessment(episode=case, by=by, form=form, assessed_on=day)
    bare = FilledForm(measure="lefs", answers={"1": 4}, mode="alone")
    scoreless = record_assessment(episode=case, by=by, form=bare, assessed_on=on)
    assert Assessment.objects.get(pk=scoreless.pk).no_score_reason
    make_physical(episode=case, on=on)


def plan(case: Episode, on: date, by: User) -> None:
    """Prescribe an entry of the clinic's own, and what stands around it."""
    own: ClinicExercise = add_exercise(
        by=by, name="x", target="foot", how="x", source="x"
    )
    programme = make_programme(case, on=on)
    line = make_line(
        programme, on=on, line=Line(clinic_exercise=own, sets=3, repetitions=10)
    )
    SuggestionChoice.objects.create(
        site=case.site,
        prescription=line,
        suggested_on=on,
        kind="x",
        rule="x",
        sentence="x",
        choice="declined",
        chosen_by=by,
    )
    make_flow_screen(episode=case, on=on)
    make_event(episode=case, on=on)
    make_other_care(episode=case, on=on)


def write_json(case: Episode, on: date, by: User) -> list[str]:
    """Make what holds words in JSON or bytes, and return the marks in it."""
    marks = [mark() for _ in range(5)]
    Wording.objects.create(
        site=case.site,
        measure="akps",
        edition=1,
        name="x",
        permission="x",
        texts={"intro": marks[0]},
        installed_by=by,
    )
    letter = make_letter(episode=case, on=on)
    Letter.objects.filter(pk=letter.pk).update(
        body={"parts": [{"heading": marks[1], "text": marks[2]}]}
    )
    PendingImport.objects.create(
        site=case.site,
        by=by,
        patients_csv=marks[3].encode(),
        observations_csv=marks[4].encode(),
    )
    CaseReview.objects.create(
        site=case.site,
        episode=case,
        reviewed_on=on,
        decision="continue",
        why="x",
        look_again_on=on + timedelta(days=7),
        findings=["worsening"],
        by=by,
    )
    ClinicChange.objects.create(site=case.site, happened_on=on, words="x", by=by)
    FrozenReference.objects.create(
        site=case.site,
        subject="x",
        from_on=case.opened_on,
        until_on=on,
        numbers={},
        why="x",
        declared_by=by,
    )
    return marks


def prints_of(word: str) -> list[str]:
    """Return a word as it is and as the usual hashes would write it."""
    data = word.encode()
    hashes = (hashlib.md5, hashlib.sha1, hashlib.sha256)
    return [word.lower(), *(one(data).hexdigest() for one in hashes)]
