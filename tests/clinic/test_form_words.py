"""Every form of the project says what to do, in the project's words."""

import importlib
import pkgutil
from collections.abc import Iterator

import pytest
from django import forms

import clinic
import outcomes
import programs
from clinic.form_words import FILL_IN, USER_NAME
from clinic.models import User

DJANGOS = ("This field", "valid choice", "Enter a", "Ensure this", "No file was")


def project_forms() -> Iterator[type[forms.BaseForm]]:
    """Yield every form class that a module of the project defines."""
    for app in (clinic, outcomes, programs):
        for found in pkgutil.walk_packages(app.__path__, f"{app.__name__}."):
            if "form" not in found.name and "uploading" not in found.name:
                continue
            module = importlib.import_module(found.name)
            for thing in vars(module).values():
                if isinstance(thing, type) and issubclass(thing, forms.BaseForm):
                    yield thing


@pytest.mark.parametrize("form", sorted(set(project_forms()), key=str), ids=str)
def test_no_field_speaks_in_djangos_words(form: type[forms.BaseForm]) -> None:
    """Whether it lies empty or holds what does not fit."""
    for name, field in getattr(form, "base_fields", {}).items():
        for code in ("required", "invalid_choice"):
            said = str(field.error_messages.get(code, ""))
            assert not any(words in said for words in DJANGOS), (name, code, said)


def test_what_is_left_empty_is_named_plainly(lead: User, signed_in: object) -> None:
    """The invitation of a person, sent empty."""
    page = signed_in(lead).post("/people/", {})  # type: ignore[operator]
    text = page.content.decode()
    assert FILL_IN in text
    assert "This field is required" not in text


def test_an_impossible_user_name_says_what_is_possible(
    lead: User, signed_in: object
) -> None:
    """At its field, in the browser."""
    sent = {"first_name": "I", "last_name": "F", "username": "two words"}
    page = signed_in(lead).post("/people/", sent)  # type: ignore[operator]
    assert USER_NAME in page.content.decode()
