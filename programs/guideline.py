"""The options that the guideline names, and which of them a case has not tried."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from clinic.sourced.sources import MARKS
from clinic.sourced.strict_toml import Table, read_file

from . import library
from .library_entries import Evidence, Reference

FILE = Path(__file__).parent / "guideline_options.toml"


@dataclass(frozen=True, slots=True)
class GuidelineOption:
    """One option: what counts as having tried it, and what speaks for or against it."""

    key: str
    name: str
    any_of: tuple[str, ...]
    and_any_of: tuple[str, ...]
    evidence: tuple[Evidence, ...]
    source: Reference
    mark: str

    def is_tried(self, groups: Collection[str]) -> bool:
        """Tell whether what was prescribed, by group of the library, covers it."""
        has_first = any(group in groups for group in self.any_of)
        is_more = any(group in groups for group in self.and_any_of)
        return has_first and (is_more or not self.and_any_of)


@cache
def guideline_options() -> tuple[GuidelineOption, ...]:
    """Every option in the file's order; DataFileError names file and key."""
    statements = {
        one.key: one for entry in library.library().values() for one in entry.evidence
    }
    table = read_file(FILE)
    options = tuple(_option(row, statements) for row in table.tables("options"))
    table.finish()
    return options


def _option(row: Table, statements: dict[str, Evidence]) -> GuidelineOption:
    sources = {one.source.key: one.source for one in statements.values()}
    found = GuidelineOption(
        key=row.text("key"),
        name=row.text("name"),
        any_of=row.texts("any_of", library.groups()),
        and_any_of=row.texts("and_any_of", library.groups()),
        evidence=tuple(statements[key] for key in row.texts("evidence", statements)),
        source=sources[row.choice("source", sources)],
        mark=row.choice("mark", MARKS),
    )
    if not (found.any_of and found.evidence):
        raise row.fail("any_of", "and evidence must each name one at least")
    row.finish()
    return found


def untried(exercises: Iterable[str]) -> tuple[GuidelineOption, ...]:
    """Return the options that no prescribed entry of the library covers."""
    known = library.library()
    groups = {known[key].group for key in exercises if key in known}
    return tuple(one for one in guideline_options() if not one.is_tried(groups))
