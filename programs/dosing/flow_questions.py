"""What the flow-restriction screen asks, read strictly from `bfr_screen.toml`."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from .sources import MARKS, Source

FILE = Path(__file__).parent.parent / "bfr_screen.toml"


class ScreenFileError(ValueError):
    """The file of questions is wrong; the message says where."""


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
    """Return the screen, read once; ScreenFileError if the file is wrong."""
    return read_questions(FILE.read_text(encoding="utf-8"))


def read_questions(text: str) -> Questions:
    """Read a screen; a missing, unknown or doubled key is a ScreenFileError."""
    try:
        raw = tomllib.loads(text)
        sources = {key: Source(**row) for key, row in raw.pop("sources").items()}
        found = Questions(
            contraindications=_rows(
                raw, "contraindications", Contraindication, sources
            ),
            risks=_rows(raw, "risks", AddedRisk, sources),
            stop_signs=_rows(raw, "stop_signs", StopSign, sources),
            **{key: raw.pop(key) for key in ("edition", "reference")},
        )
    except (KeyError, TypeError, ValueError) as error:
        raise ScreenFileError(f"{FILE.name}: {error}") from error
    for problem in _problems(found, left=raw, sources=sources):
        raise ScreenFileError(f"{FILE.name}: {problem}")
    return found


def _rows(
    raw: dict[str, Any], name: str, kind: Any, sources: Mapping[str, Source]
) -> tuple[Any, ...]:
    rows = [dict(row) for row in raw.pop(name)]
    return tuple(kind(**{**row, "source": sources[row["source"]]}) for row in rows)


def _problems(
    found: Questions, *, left: Mapping[str, Any], sources: Mapping[str, Source]
) -> list[str]:
    problems = [f"{key} is not a known key" for key in left]
    if len(found.asked) != len(found.contraindications) + len(found.risks):
        problems.append("two questions share a key")
    if not found.contraindications or not found.risks or not found.stop_signs:
        problems.append("contraindications, risks and stop signs are all needed")
    problems += [
        f"{source.mark} is not a known mark"
        for source in sources.values()
        if source.mark not in MARKS
    ]
    return problems
