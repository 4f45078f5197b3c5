"""The allow-list, held against the models and against what must never leave."""

import re

import pytest
from django.apps import apps
from django.db import models

from clinic.models import Episode, Patient, Side, Visit
from outcomes.exporting.columns import (
    ATTENDANCES,
    DISCHARGE_REASONS,
    NEXT_MORNINGS,
    ON_SIDES,
    SENSITIVE,
    tables,
)
from outcomes.exporting.dose_columns import LOADS
from outcomes.exporting.generalising import SEXES, SIDES, Shown
from outcomes.exporting.table_shape import Column, Type
from programs.models import NextMorning, Prescription

# Word for word, so that a column is added here by somebody who means it.
LISTED = {
    "episodes": "episode_key age_band sex side duration_band year_opened "
    "clinician_code primary_measure last_verdict discharge_reason discharge_window",
    "assessments": "episode_key week_window measure edition score verdict activities",
    "pain_scores": "episode_key week_window worst usual stairs squatting sitting "
    "running",
    "visits": "episode_key week_window attendance pain_during next_morning",
    "prescriptions": "episode_key start_window stop_window exercise on_side sets "
    "repetitions scheme hold_seconds minutes rest_seconds load load_kg load_percent "
    "times_a_week cuff_percent",
}
COLUMNS = [
    pytest.param(column, id=f"{table.name}.{column.name}")
    for table in tables().values()
    for column in table.columns
]
# Not of one field: drawn for the export, or computed by the project's own rule.
MADE = {"drawn", "outcomes.science.mcid"}


def field_of(column: Column) -> models.Field | None:
    """Return the field that a column comes from; None for one that is made."""
    if column.source in MADE:
        return None
    model, name = column.source.split(".")
    for app in ("clinic", "programs", "outcomes"):
        if model.lower() in apps.all_models[app]:
            return apps.get_model(app, model)._meta.get_field(name)
    raise LookupError(column.source)


def test_these_columns_leave_and_no_others() -> None:
    """A new field of a model is not exported until it is listed, here too."""
    found = {
        table.name: [column.name for column in table.columns]
        for table in tables().values()
    }
    assert found == {name: names.split() for name, names in LISTED.items()}


@pytest.mark.parametrize("column", COLUMNS)
def test_every_column_says_what_it_is(column: Column) -> None:
    """Title, rule and source stand in the dictionary; text has a list or a pattern."""
    assert column.title
    assert column.rule.endswith(".")
    assert column.source
    if column.type is Type.TEXT:
        assert bool(column.allowed) != bool(column.pattern)
    if column.pattern:
        assert column.form
        re.compile(column.pattern)


@pytest.mark.parametrize("column", COLUMNS)
def test_no_free_text_and_no_day_leaves_as_it_is(column: Column) -> None:
    """Typed words and days come out as a listed word, a code, a year or a window."""
    field = field_of(column)
    if isinstance(field, models.DateField):
        is_coarse = column.type is Type.YEAR or column.unit == "weeks"
        assert is_coarse or column.name in ("age_band", "duration_band")
    if isinstance(field, models.CharField | models.TextField | models.JSONField):
        assert column.allowed or column.pattern
    if isinstance(field, models.ForeignKey):
        assert column.name == "clinician_code"
    if field is not None:
        assert not field.primary_key


def test_nothing_is_made_of_what_names_a_person() -> None:
    """Names, record numbers, notes, sport, goals and the site stay behind."""
    sources = {column.source for table in tables().values() for column in table.columns}
    of_people = {source for source in sources if source.startswith("Patient.")}
    assert of_people == {"Patient.birth_date", "Patient.sex"}
    kept = "note goals sport tempo band words how site record_number name wording"
    for name in kept.split():
        assert not {source for source in sources if source.endswith(f".{name}")}


def test_listed_values_are_those_of_the_models() -> None:
    """Where a model gains a value, whoever lists it decides that it may leave."""
    assert set(DISCHARGE_REASONS) == set(Episode.Reason.values)
    assert set(ATTENDANCES) == set(Visit.Attendance.values)
    assert set(NEXT_MORNINGS) == set(NextMorning.values)
    assert set(LOADS) == set(Prescription.Load.values)
    assert set(ON_SIDES) == set(Prescription.On.values)
    assert set(SEXES) == set(Patient.Sex.values)
    assert set(SIDES) == set(Side.values)


def test_what_a_stranger_may_know_is_in_the_first_file_alone() -> None:
    """No other file repeats a quasi-identifier beside the key."""
    first = {column.name for column in tables()["episodes"].columns}
    assert first >= {*Shown._fields, *SENSITIVE}
    for table in list(tables().values())[1:]:
        assert not {column.name for column in table.columns} & set(Shown._fields)


def test_no_key_of_a_person_links_two_knees() -> None:
    """The pair of knees would be a pattern that k does not cover."""
    keys = {
        column.name
        for table in tables().values()
        for column in table.columns
        if "key" in column.name
    }
    assert keys == {"episode_key"}
