"""Migrations match the models and say what they do."""

import re
from collections.abc import Iterator
from typing import Any

import pytest
from django.contrib.postgres.operations import (
    AddConstraintNotValid,
    AddIndexConcurrently,
)
from django.core.management import call_command
from django.db import migrations, models
from django.db.migrations.loader import MigrationLoader
from django.db.models.fields import NOT_PROVIDED

from tests.test_architecture import APPS, ROOT


@pytest.mark.django_db
def test_no_model_has_changed_without_a_migration(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """makemigrations has nothing to add."""
    try:
        call_command("makemigrations", check=True, dry_run=True)
    except SystemExit:
        pytest.fail(capsys.readouterr().out)


@pytest.mark.parametrize("app", APPS)
def test_migrations_are_named_for_what_they_do(app: str) -> None:
    """No generated name such as 0004_auto_20260601_1000."""
    names = [path.stem for path in (ROOT / app / "migrations").glob("0*.py")]
    generated = r"auto_\d+|alter_\w+_and_more"
    assert [name for name in names if re.search(generated, name)] == []


# On a large table these hold up everybody else, or fail for a web process of the
# version before. Each allowed one says why it is safe; the past needs no reason.
WRITTEN_BEFORE = {"clinic": 8, "programs": 6, "outcomes": 4}
ALLOWED: dict[str, str] = {}
# Tables of a few rows for each site, where a lock lasts no time.
SMALL = {"site", "user", "sitepolicy", "dosingpolicy", "wording", "clinicexercise"}


def risk_of(operation: Any) -> str:
    """Return what is risky about one step on a table that is there already."""
    match operation:
        case migrations.AddField(field=field):
            is_bare = not field.null and field.db_default is NOT_PROVIDED
            return "a NOT NULL column without db_default" if is_bare else ""
        case AddIndexConcurrently():
            return ""
        case migrations.AddIndex():
            return "an index that is not AddIndexConcurrently"
        case AddConstraintNotValid():
            return ""
        case migrations.AddConstraint():
            return "a constraint that is not AddConstraintNotValid"
        case migrations.AlterField() | migrations.AlterUniqueTogether():
            return "a column that may be rewritten under a lock"
        case migrations.RenameField() | migrations.RemoveField():
            return "a column that the version before still asks for"
        case migrations.RenameModel() | migrations.DeleteModel():
            return "a table that the version before still asks for"
        case migrations.RunPython() | migrations.RunSQL():
            return "steps of its own"
    return ""


def table_of(operation: Any) -> str:
    """Return the model that a step changes, in small letters."""
    name = getattr(operation, "model_name", "") or getattr(operation, "name", "")
    return str(name).lower()


def risks() -> Iterator[str]:
    """Yield each risky step of the migrations since, on tables that were there."""
    for (app, name), migration in MigrationLoader(None).disk_migrations.items():
        if int(name[:4]) <= WRITTEN_BEFORE.get(app, 9999):
            continue
        made = {
            table_of(step)
            for step in migration.operations
            if isinstance(step, migrations.CreateModel)
        }
        for step in migration.operations:
            if table_of(step) not in made | SMALL and (risk := risk_of(step)):
                yield f"{app}.{name}: {step.describe()} is {risk}"


def test_no_migration_holds_a_large_table_for_long() -> None:
    """Each risky step is mended, or allowed with its reason."""
    assert set(risks()) - set(ALLOWED) == set()
    assert set(ALLOWED) <= set(risks()), "no longer there: take it off the list"


@pytest.mark.parametrize(
    ("step", "risk"),
    [
        (migrations.AddField("visit", "x", models.TextField()), "NOT NULL"),
        (migrations.AddField("visit", "x", models.TextField(default="")), "NOT NULL"),
        (migrations.AddField("visit", "x", models.TextField(db_default="")), ""),
        (migrations.AddField("visit", "x", models.TextField(null=True)), ""),
        (migrations.AddIndex("visit", models.Index("x", name="x")), "Concurrently"),
        (AddIndexConcurrently("visit", models.Index("x", name="x")), ""),
        (migrations.RemoveField("visit", "x"), "version before"),
        (migrations.RunSQL("SELECT 1"), "steps of its own"),
    ],
)
def test_a_risky_step_is_recognised(step: Any, risk: str) -> None:
    """The check can fail, and does for what it names alone."""
    assert risk in risk_of(step)
    assert bool(risk) == bool(risk_of(step))
