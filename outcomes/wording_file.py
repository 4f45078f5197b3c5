"""The file in which a clinic keeps question texts, and what is wrong with one.

The layout is this project's own (TOML):

    measure = "akps"             # a key of the catalogue
    edition = 1                  # the edition that the catalogue scores
    language = "en"
    name = "What this text is called"
    permission = "Who permits the use, in words"
    demonstration = false
    intro = "Shown above the questions; may be empty"

    [items.1]
    prompt = "The question"
    [items.1.options]
    a = "The answer"             # one text for every answer of the catalogue

A scale of numbers (PSFS, the global rating) needs texts for its two ends only. The
PSFS has one item, `activity`, since the patient names the activities.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from .science.measures import QUESTIONNAIRES, Item, Measure, catalogue

ANY_ACTIVITY = "activity"
LARGEST = 200_000  # bytes; the longest questionnaire needs a tenth of it
LANGUAGE = re.compile(r"[a-z]{2,3}(-[A-Za-z0-9]{2,8})?")
SHAPE: dict[str, type] = {
    "measure": str,
    "edition": int,
    "language": str,
    "name": str,
    "permission": str,
    "demonstration": bool,
    "intro": str,
    "items": dict,
}
WORDS = {str: "text in quotes", int: "a whole number", bool: "true or false"}
LONGEST = {"language": 12, "name": 120}


class WordingError(ValueError):
    """A wording cannot be used; `problems` holds one sentence each."""

    def __init__(self, problems: list[str]) -> None:
        super().__init__(" ".join(problems))
        self.problems = problems


@dataclass(frozen=True, slots=True, kw_only=True)
class WordingFile:
    """One wording as it was read, complete for its measure."""

    measure: str
    edition: int
    language: str
    name: str
    permission: str
    is_demonstration: bool
    texts: dict[str, Any]

    @property
    def columns(self) -> dict[str, Any]:
        """Return the columns of the stored wording."""
        return {name: getattr(self, name) for name in self.__slots__}


def read_wording(path: Path) -> WordingFile:
    """Read a file; WordingError names everything that is wrong with it."""
    try:
        with path.open("rb") as file:
            raw = file.read(LARGEST + 1)
    except OSError as error:
        raise WordingError([f"The file cannot be read: {error.strerror}."]) from error
    if len(raw) > LARGEST:
        raise WordingError([f"The file is larger than {LARGEST // 1000} kB."])
    try:
        table = tomllib.loads(raw.decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        raise WordingError(["The file is not UTF-8 text."]) from error
    except tomllib.TOMLDecodeError as error:
        raise WordingError([f"The file is not valid TOML: {error}."]) from error
    return parse_wording(table)


def parse_wording(table: Mapping[str, Any]) -> WordingFile:
    """Check a wording against the catalogue; WordingError names all problems."""
    if problems := list(_misshapen(table)):
        raise WordingError(problems)
    if problems := [*_unfit(table), *_unfit_items(table)]:
        raise WordingError(problems)
    items = {
        key: {"prompt": rows["prompt"].strip(), "options": dict(rows["options"])}
        for key, rows in table["items"].items()
    }
    return WordingFile(
        measure=table["measure"],
        edition=table["edition"],
        language=table["language"],
        name=table["name"].strip(),
        permission=table["permission"].strip(),
        is_demonstration=table["demonstration"],
        texts={"intro": table["intro"].strip(), "items": items},
    )


def _misshapen(table: Mapping[str, Any]) -> Iterator[str]:
    """Yield what is missing, unknown or of the wrong kind at the top of the file."""
    for key in sorted(table.keys() - SHAPE.keys()):
        yield f"The key {key!r} is not known here."
    for key, kind in SHAPE.items():
        if key not in table:
            yield f"{key} is missing."
        elif type(table[key]) is not kind:
            yield f"{key} must be {WORDS.get(kind, 'a table')}."


def _unfit(table: Mapping[str, Any]) -> Iterator[str]:
    """Yield what the top of the file says that cannot be."""
    for key in ("name", "permission"):
        if not table[key].strip():
            hint = " Say who permits the use." if key == "permission" else ""
            yield f"{key} is empty.{hint}"
    for key, longest in LONGEST.items():
        if len(table[key]) > longest:
            yield f"{key} is longer than {longest} characters."
    if not LANGUAGE.fullmatch(table["language"]):
        yield 'language must be a code such as "en" or "pt-BR".'
    if table["measure"] not in QUESTIONNAIRES:
        known = ", ".join(QUESTIONNAIRES)
        yield f"measure {table['measure']!r} has no wording; these have: {known}."
        return
    edition = catalogue()[table["measure"]].edition
    if table["edition"] != edition:
        yield f"edition must be {edition}: only that one is scored."


def _unfit_items(table: Mapping[str, Any]) -> Iterator[str]:
    """Yield every question and answer that is missing, unknown or empty."""
    if table["measure"] not in QUESTIONNAIRES:
        return
    about = catalogue()[table["measure"]]
    expected = _expected(about)
    for key in sorted(table["items"].keys() - expected.keys()):
        yield f"items.{key} is not a question of {about.short_name}."
    for key, item in expected.items():
        if key not in table["items"]:
            yield f"items.{key} is missing."
        else:
            yield from _unfit_item(key, item, table["items"][key], about)


def _unfit_item(key: str, item: Item, rows: Any, about: Measure) -> Iterator[str]:
    at = f"items.{key}"
    if not isinstance(rows, dict) or not isinstance(rows.get("options"), dict):
        yield f"{at} needs a prompt and a table {at}.options."
        return
    for name in sorted(rows.keys() - {"prompt", "options"}):
        yield f"{at}.{name} is not known here."
    if not _is_text(rows.get("prompt")):
        yield f"{at}.prompt is missing or empty."
    known = [str(option.code) for option in item.options]
    needed = [known[0], known[-1]] if _is_number_scale(about) else known
    for code in sorted(rows["options"].keys() - set(known)):
        yield f"{at}.options.{code} is not an answer; there are {', '.join(known)}."
    for code in known:
        if code not in rows["options"] and code in needed:
            yield f"{at}.options.{code} is missing."
        elif code in rows["options"] and not _is_text(rows["options"][code]):
            yield f"{at}.options.{code} is empty or not text."


def _expected(about: Measure) -> dict[str, Item]:
    if about.has_own_items:
        return {ANY_ACTIVITY: about.items[0]}
    return {item.key: item for item in about.items}


def _is_number_scale(about: Measure) -> bool:
    """Tell whether a patient reads numbers between two ends, not words."""
    return about.has_own_items or about.kind == "rating"


def _is_text(value: Any) -> bool:
    return isinstance(value, str) and bool(value.strip())
