"""Migrations match the models and say what they do."""

import re

import pytest
from django.core.management import call_command

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
