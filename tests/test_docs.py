"""What the documents say is there is there."""

import re
from pathlib import Path

import pytest

from outcomes.science.measures import PAIN_KINDS, catalogue

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def between(start: str, end: str) -> str:
    """Return a part of DEVELOPERS.md between two marks."""
    return DEVELOPERS.split(f"<!-- {start} -->")[1].split(f"<!-- {end} -->")[0]


def names_of_tests() -> set[str]:
    """Return the name of every test of the project."""
    names: set[str] = set()
    for path in (ROOT / "tests").rglob("test_*.py"):
        text = path.read_text(encoding="utf-8")
        names |= set(re.findall(r"def (test_\w+)", text))
    return names


def test_every_hazard_names_tests_that_exist() -> None:
    """A control without its test says so; a named test can be run."""
    rows = [
        row for row in between("hazards", "/hazards").splitlines() if row[:2] == "| "
    ]
    assert len(rows) > 30
    known = names_of_tests()
    for row in rows[1:]:
        named = re.findall(r"`(test_\w+)`", row)
        assert named, row
        assert set(named) <= known, set(named) - known


def test_every_requirement_names_tests_that_exist() -> None:
    """What the security page says is held is held, or it says Open."""
    table = between("security", "/security")
    assert set(re.findall(r"`(test_\w+)`", table)) <= names_of_tests()
    rows = [row for row in table.splitlines() if re.match(r"\| \d+ ", row)]
    assert [int(row.split("|")[1]) for row in rows] == list(range(1, 31))
    for row in rows:
        assert re.search(r"`test_\w+`", row) or "**Open:**" in row, row


def test_every_setting_is_documented() -> None:
    """Each name that the settings read has its line in the table."""
    settings = (ROOT / "clinic" / "settings.py").read_text(encoding="utf-8")
    names = set(re.findall(r'"(TROCHLEA_\w+|DATABASE_\w*URL)"', settings))
    assert len(names) >= 7
    missing = {name for name in names if f"| `{name}` |" not in DEVELOPERS}
    assert missing == set()


@pytest.mark.parametrize("key", list(catalogue()))
def test_every_measure_is_in_the_readme(key: str) -> None:
    """A clinician finds each measure by its name."""
    about = catalogue()[key]
    kind = key.removeprefix("pain_")
    names = [kind] if kind in PAIN_KINDS else [about.short_name, about.name.lower()]
    assert any(name.lower() in README.lower() for name in names)


def test_every_dependency_has_its_reason() -> None:
    """A package that is asked for by name stands in the table of reasons."""
    asked = [
        re.split(r"[\[=<>]", line.strip())[0]
        for name in (".requirements.in", "tests/.requirements.in")
        for line in (ROOT / name).read_text(encoding="utf-8").splitlines()
        if line.strip() and not line.startswith(("#", "-r"))
    ]
    table = DEVELOPERS.split("## Dependencies, and why")[1].split("\n## ")[0]
    assert [name for name in asked if name.lower() not in table.lower()] == []
