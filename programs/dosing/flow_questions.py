"""What the flow-restriction screen asks, read strictly from `bfr_screen.toml`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import cache
from pathlib import Path
from typing import TypeVar

from clinic.sourced.sources import Source, read_source
from clinic.sourced.strict_toml import Table, read_file, read_text

FILE = Path(__file__).parent.parent / "bfr_screen.toml"


@dataclass(frozen=True, slots=True)
class Contraindication:
    """A condition that rules it out, with the reason to show."""

    key: str
    ask: str
    reason: str
    source: Source


@dataclass(frozen=True, slots=True)
class AddedRisk:
    """A condition that asks for a decision in words."""

    key: str
    ask: str
    source: Source


@dataclass(frozen=True, slots=True)
class StopSign:
    """What ends a session at once, and what to do."""

    key: str
    sign: str
    act: str
    source: Source


Row = TypeVar("Row", Contraindication, AddedRisk, StopSign)


@dataclass(frozen=True, slots=True)
class Questions:
    """The whole screen of one edition."""

    edition: int
    reference: str
    contraindications: tuple[Contraindication, ...]
    risks: tuple[AddedRisk, ...]
    stop_signs: tuple[StopSign, ...]

    @property
    def asked(self) -> Mapping[str, str]:
        """Every question's words by key, in the order of asking."""
        stopping = {each.key: each.ask for each in self.contraindications}
        return stopping | {each.key: each.ask for each in self.risks}

    @property
    def keys(self) -> tuple[str, ...]:
        """Every question's key, in the order of asking."""
        return tuple(self.asked)


@cache
def questions() -> Questions:
    """Return the screen, read once; DataFileError if the file is wrong."""
    return _questions(read_file(FILE))


def read_questions(text: str) -> Questions:
    """Read a screen; a missing, unknown or doubled key is a DataFileError."""
    return _questions(read_text(text, FILE.name))


def _questions(table: Table) -> Questions:
    named = table.table("sources").named()
    sources = {key: read_source(row) for key, row in named}
    found = Questions(
        edition=table.whole("edition"),
        reference=table.text("reference"),
        contraindications=_rows(table, "contraindications", Contraindication, sources),
        risks=_rows(table, "risks", AddedRisk, sources),
        stop_signs=_rows(table, "stop_signs", StopSign, sources),
    )
    table.finish()
    if len(found.asked) != len(found.contraindications) + len(found.risks):
        raise table.fail("contraindications", "and risks share a key")
    return found


def _rows(
    table: Table, name: str, kind: type[Row], sources: Mapping[str, Source]
) -> tuple[Row, ...]:
    """Read a list of one kind, at least one: each text by name, its source by key."""
    rows = tuple(_row(row, kind, sources) for row in table.tables(name))
    if not rows:
        raise table.fail(name, "must be one or more")
    return rows


def _row(table: Table, kind: type[Row], sources: Mapping[str, Source]) -> Row:
    texts = [field.name for field in fields(kind) if field.name != "source"]
    found = kind(
        **{name: table.text(name) for name in texts},
        source=sources[table.choice("source", sources)],
    )
    table.finish()
    return found
