"""House rules that a machine can read: sizes, names, templates."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.apps import apps
from django.contrib.auth.models import AbstractUser
from django.db import models

from tests.test_architecture import APPS, ROOT, python_files, shown

MODULE_LINES = 300
FUNCTION_LINES = 25
EMPTY_NAMES = {"utils", "helpers", "services", "selectors", "constants", "common"}
# Longer functions, each with its reason. Split them before adding to this list.
LONG_FUNCTIONS: dict[str, str] = {}
# Fields whose name is outside the project's hands, each with its reason.
FOREIGN_FIELDS = {
    "Patient.birth_date": "the column's name in every clinic's spreadsheet",
    "AuditEvent.at": "the moment of the line itself, as `by` is its person",
}
TEMPLATES = ROOT / "templates"
FRAGMENT_FOLDERS = tuple(TEMPLATES / app for app in APPS)


# Python


def functions() -> Iterator[tuple[str, ast.FunctionDef | ast.AsyncFunctionDef]]:
    """Yield every function of the apps as 'file:name'."""
    for path in python_files(*APPS):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                yield f"{shown(path)}:{node.name}", node


def length(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Count lines of the body; signature and docstring are for the reader."""
    has_docstring = ast.get_docstring(node) is not None
    body = node.body[1:] if has_docstring else node.body
    return node.end_lineno - body[0].lineno + 1 if body else 0


def test_modules_are_short() -> None:
    """A module holds one idea, in 300 lines at most."""
    lengths = {
        shown(path): len(path.read_text(encoding="utf-8").splitlines())
        for path in python_files(*APPS)
    }
    assert {name: n for name, n in lengths.items() if n > MODULE_LINES} == {}


def test_functions_are_short() -> None:
    """A function is 25 lines at most, but for a list with reasons."""
    long = {name: length(node) for name, node in functions()}
    long = {name: n for name, n in long.items() if n > FUNCTION_LINES}
    assert {name: n for name, n in long.items() if name not in LONG_FUNCTIONS} == {}
    assert set(LONG_FUNCTIONS) <= set(long), "no longer long: take it off the list"


def test_booleans_are_keyword_only() -> None:
    """No call reads f(x, True)."""
    positional = [
        name
        for name, node in functions()
        for argument in [*node.args.posonlyargs, *node.args.args]
        if isinstance(argument.annotation, ast.Name)
        if argument.annotation.id == "bool"
    ]
    assert positional == []


def test_module_names_say_what_they_hold() -> None:
    """No module is called utils, helpers, services or the like."""
    paths = python_files(*APPS)
    names = {shown(p): {p.stem, *p.relative_to(ROOT).parts} for p in paths}
    assert [path for path, parts in names.items() if parts & EMPTY_NAMES] == []


# Models


def own_fields() -> Iterator[tuple[str, models.Field]]:
    """Yield the fields that the project itself names, as 'Model.field'."""
    inherited = {field.name for field in AbstractUser._meta.get_fields()}
    for app in APPS:
        for model in apps.get_app_config(app).get_models():
            for field in model._meta.concrete_fields:
                if issubclass(model, AbstractUser) and field.name in inherited:
                    continue
                yield f"{model.__name__}.{field.name}", field


@pytest.mark.parametrize(
    ("kind", "ending"), [(models.DateField, "_on"), (models.DateTimeField, "_at")]
)
def test_dates_and_moments_are_named_as_such(
    kind: type[models.Field], ending: str
) -> None:
    """Days end _on, moments end _at."""
    wrong = [
        name
        for name, field in own_fields()
        if type(field) is kind and not name.endswith(ending)
    ]
    assert [name for name in wrong if name not in FOREIGN_FIELDS] == []


def test_flags_are_named_as_such() -> None:
    """A yes or no begins is_ or has_."""
    wrong = [
        name
        for name, field in own_fields()
        if isinstance(field, models.BooleanField)
        and not name.split(".")[1].startswith(("is_", "has_"))
    ]
    assert wrong == []


# Templates


def templates(pattern: str = "*.html") -> list[Path]:
    """List the templates of that name."""
    return sorted(TEMPLATES.rglob(pattern))


def sources() -> str:
    """Return the text of everything that can name a template."""
    paths = [*templates(), *python_files(*APPS)]
    return "\n".join(path.read_text(encoding="utf-8") for path in paths)


def served_by_itself(path: Path) -> bool:
    """Tell whether a view answers with this fragment alone."""
    folder, stem = path.relative_to(TEMPLATES).parent, path.stem
    code = "\n".join(p.read_text(encoding="utf-8") for p in python_files(*APPS))
    as_part = rf'"{folder}/\w+",\s*"{stem[1:]}"'  # page_or_fragment(page, fragment)
    return bool(re.search(rf'{as_part}|"{folder}/{stem}\.html"', code))


def root_id(path: Path) -> str | None:
    """Return the id of a template's first element, unless it is computed."""
    text = re.sub(r"{#.*?#}|{% comment .*?endcomment %}", "", path.read_text("utf-8"))
    element = re.search(r"<[a-z][^>]*>", text)
    found = re.search(r'\sid="([^"{]+)"', element[0]) if element else None
    return found[1] if found else None


def test_every_fragment_is_used() -> None:
    """No _name.html lies about that nothing includes or serves."""
    text = sources()
    unused = [
        shown(path)
        for path in templates("_*.html")
        if path.relative_to(TEMPLATES).as_posix() not in text
        and not served_by_itself(path)
    ]
    assert unused == []


def test_fragments_carry_their_name_as_id() -> None:
    """The root of _caseload_table.html is #caseload-table, so a swap can find it."""
    wrong = {}
    for path in (p for folder in FRAGMENT_FOLDERS for p in folder.glob("_*.html")):
        found, expected = root_id(path), path.stem[1:].replace("_", "-")
        if found != expected and (found or served_by_itself(path)):
            wrong[shown(path)] = found
    assert wrong == {}


@pytest.mark.parametrize(
    ("fault", "pattern"),
    [
        ("inline style", r"\sstyle\s*="),
        ("inline handler", r"\son[a-z]+\s*=\s*[\"']"),
        ("htmx handler", r"\shx-on\b"),
        ("script in an attribute", r"[\"']\s*(javascript|js):"),
        (
            "inline script",
            r"<script(?![^>]*\ssrc=)(?![^>]*type=\"application/json\")[^>]*>",
        ),
    ],
)
def test_templates_hold_no_inline_code(fault: str, pattern: str) -> None:
    """The content security policy would block it, and behaviour hangs on data-…."""
    wrong = []
    for path in templates():
        text = re.sub(r"{[%{#].*?[#}%]}", "", path.read_text("utf-8"), flags=re.S)
        wrong += [f"{shown(path)}: {found[0]}" for found in re.finditer(pattern, text)]
    assert wrong == [], fault
