"""Scores a CSV file of forms: columns id,1,2,...,n, an empty cell a missing item."""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from .measures import Measure
from .scoring import Answer, BadAnswer, Unscorable, parse_answer, score

# A form has at most some 20 short cells; a longer line is not such a file, and an
# unclosed quote must not read the whole of it into memory.
LONGEST_LINE = 65_536


class BadFile(ValueError):
    """The file cannot be scored; the message says where and what is allowed."""

    def __init__(self, problem: str, *, line: int, column: int = 1) -> None:
        super().__init__(f"Line {line}, column {column}: {problem}")
        self.line = line
        self.column = column


@dataclass(frozen=True, slots=True)
class Scored:
    """One row of the result: a score as text, or the reason why there is none."""

    id: str
    score: str
    reason: str


def decoded(lines: Iterable[bytes]) -> Iterator[str]:
    """Decode a UTF-8 file line by line, with or without a byte-order mark."""
    for at, raw in enumerate(lines, start=1):
        content = raw.removeprefix(b"\xef\xbb\xbf") if at == 1 else raw
        if len(content) > LONGEST_LINE:
            raise BadFile("this line is too long for a file of answers.", line=at)
        if b"\0" in content:
            raise BadFile("this is not a CSV file saved as UTF-8 text.", line=at)
        try:
            yield content.decode("utf-8")
        except UnicodeDecodeError:
            problem = "this is not UTF-8 text; save the file as CSV UTF-8."
            raise BadFile(problem, line=at) from None


def refuse(fault: BadFile) -> None:
    """Stop at the first fault."""
    raise fault


def scored_rows(
    measure: Measure,
    lines: Iterable[str],
    on_fault: Callable[[BadFile], None] = refuse,
) -> Iterator[Scored]:
    """Score each row in turn; a faulty row goes to `on_fault`, which may go on.

    A file that cannot be read further raises BadFile.
    """
    rows = _rows(lines)
    header = next(rows, None)
    if header is None:
        raise BadFile("the file is empty; a header row is needed.", line=1)
    keys = _keys(measure, *header)
    for line, cells in rows:
        if not any(cell.strip() for cell in cells):
            continue
        try:
            yield _scored(measure, keys, line, cells)
        except BadFile as fault:
            on_fault(fault)


def shown(value: float) -> str:
    """A score without needless decimals: 72, or at most four places: 54.5455."""
    rounded = round(float(value), 4)
    return str(int(rounded)) if rounded.is_integer() else repr(rounded)


def _rows(lines: Iterable[str]) -> Iterator[tuple[int, list[str]]]:
    """Rows with the line each begins on; blank lines are passed over."""
    reader = csv.reader(lines, strict=True)
    while True:
        begins = reader.line_num + 1
        try:
            cells = next(reader, None)
        except csv.Error as error:
            raise BadFile(f"this is not CSV ({error}).", line=begins) from None
        if cells is None:
            return
        if cells:
            yield begins, cells


def _keys(measure: Measure, line: int, header: list[str]) -> list[str]:
    """The item behind each column after the first; a wrong header is BadFile."""
    wanted = ["id", *(str(n) for n in range(1, len(measure.items) + 1))]
    found = [cell.strip().lower() for cell in header]
    if measure.has_own_items and 1 < len(found) < len(wanted):
        wanted = wanted[: len(found)]
    if len(wanted) != len(found) and found[0] == "id":
        problem = f"the header has {len(found)} columns, not {len(wanted)}"
        column = min(len(wanted), len(found)) + (len(found) > len(wanted))
        raise BadFile(f"{problem}: {_spelt(wanted)}.", line=line, column=column)
    for column, (name, expected) in enumerate(zip(found, wanted, strict=False), 1):
        if name != expected:
            problem = f"the header must be {_spelt(wanted)}, separated by commas."
            raise BadFile(problem, line=line, column=column)
    return [item.key for item in measure.items[: len(wanted) - 1]]


def _spelt(names: list[str]) -> str:
    return ",".join(names) if len(names) < 5 else f"id,1,2,...,{names[-1]}"


def _scored(measure: Measure, keys: list[str], line: int, cells: list[str]) -> Scored:
    if len(cells) != len(keys) + 1:
        column = min(len(cells), len(keys) + 1) + (len(cells) > len(keys) + 1)
        problem = f"this row has {len(cells)} columns, not {len(keys) + 1}."
        raise BadFile(problem, line=line, column=column)
    name = cells[0].strip()
    if not name:
        raise BadFile("the id is empty.", line=line)
    result = score(measure, _answers(measure, keys, line, cells))
    if isinstance(result, Unscorable):
        return Scored(name, "", result.reason)
    return Scored(name, shown(result.value), "")


def _answers(
    measure: Measure, keys: list[str], line: int, cells: list[str]
) -> dict[str, Answer]:
    answers = {}
    for column, (key, cell) in enumerate(zip(keys, cells[1:], strict=True), start=2):
        if not cell.strip():
            continue
        try:
            answers[key] = parse_answer(measure, key, cell)
        except BadAnswer as error:
            problem = f"{cell.strip()[:40]!r} is not an answer. {error.message}"
            raise BadFile(problem, line=line, column=column) from None
    return answers
