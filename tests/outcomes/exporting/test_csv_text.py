"""Rows as text that every reader reads alike and no spreadsheet runs."""

import csv
import hashlib
import io
import tracemalloc
from collections.abc import Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st

from outcomes.exporting.columns import tables
from outcomes.exporting.csv_text import (
    TRIGGERS,
    NotListed,
    Value,
    cell,
    guarded,
    lines,
    write_table,
)
from outcomes.exporting.table_shape import Column, Table, Type

TEXT = Column(
    name="words", title="", type=Type.TEXT, rule="", source="", pattern=r"[\s\S]*"
)
NUMBER = Column(name="change", title="", type=Type.NUMBER, rule="", source="")
WHOLE = Column(
    name="count", title="", type=Type.WHOLE, rule="", source="", low=0, high=10
)
TABLE = Table(
    name="sample", title="", row_is="", order="", columns=(TEXT, NUMBER, WHOLE)
)


def row(words: Value = "a", change: Value = 1, count: Value = 1) -> dict[str, Value]:
    """Return one row of the sample table."""
    return {"words": words, "change": change, "count": count}


def written(*rows: dict[str, Value]) -> bytes:
    """Return the bytes of a sample file."""
    file = io.BytesIO()
    write_table(file, TABLE, rows)
    return file.getvalue()


@pytest.mark.parametrize(
    "text",
    [
        *("=1+1", "+44 20", "-2", "@SUM(A1)", "\t=1", "\r=1", "\uff1d1+1"),
        *("\uff0b1", "\uff0d1", "\uff20A1", "\n=1", "\0=1", " =1+1", "\tplain"),
        *("\ufeff=1", "\u00a0=1", "\u200b =1"),
    ],
)
def test_what_a_spreadsheet_would_run_gets_a_quote(text: str) -> None:
    """Vectors of the statistics reference 1.6, and triggers of 1.5 after trimming."""
    assert guarded(text) == f"'{text}"


@pytest.mark.parametrize("text", ["plain", "", "a=1", "5-3", "A1=7", "clinic-made"])
def test_plain_text_is_left_alone(text: str) -> None:
    """Only the start of a cell makes a formula."""
    assert guarded(text) == text


def test_the_guard_is_for_text_alone() -> None:
    """A change of -2 stays -2 (1.6); the same as text is guarded."""
    assert cell(NUMBER, -2) == "-2"
    assert cell(NUMBER, -2.5) == "-2.5"
    assert cell(TEXT, "-2") == "'-2"


@pytest.mark.parametrize(
    "text", ["plain, with comma", 'say "hi"', "one\ntwo", "é ü 膝"]
)
def test_awkward_text_comes_back_unchanged(text: str) -> None:
    """Vectors of the statistics reference 1.6, through a reader of RFC 4180."""
    found = list(csv.reader(io.StringIO(written(row(text)).decode(), newline="")))
    assert found == [["words", "change", "count"], [text, "1", "1"]]


def test_the_file_is_rfc_4180_without_a_byte_order_mark() -> None:
    """Header, CR LF at every end, an inner quote doubled, a missing value empty."""
    assert written(row('say "hi"', -2, None), row("b,c", 0.5, 3)) == (
        b'words,change,count\r\n"say ""hi""",-2,\r\n"b,c",0.5,3\r\n'
    )


def test_a_file_without_rows_has_its_header() -> None:
    """Nobody has to guess the columns of an empty file."""
    assert written() == b"words,change,count\r\n"


def test_what_was_written_is_counted_and_hashed() -> None:
    """Rows without the header, bytes, and SHA-256 of the file as it stands."""
    file = io.BytesIO()
    found = write_table(file, TABLE, [row(), row("b")])
    assert (found.name, found.rows) == ("sample.csv", 2)
    assert found.size == len(file.getvalue())
    assert found.sha256 == hashlib.sha256(file.getvalue()).hexdigest()
    assert b"".join(lines(TABLE, [row(), row("b")])) == file.getvalue()


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0, "0"),
        (-0.0, "0"),
        (5.0, "5"),
        (0.1 + 0.2, "0.3"),
        (97.72727272727273, "97.7273"),
        (1e-9, "0"),
        (1e15, "1000000000000000"),
        (-0.00001, "0"),
        (None, ""),
        ("", ""),
    ],
)
def test_numbers_are_written_as_numbers(value: Value, text: str) -> None:
    """No exponent, no needless zero, never -0."""
    assert cell(NUMBER, value) == text


@pytest.mark.parametrize(
    ("column", "value"),
    [
        (NUMBER, "7"),
        (NUMBER, True),
        (NUMBER, float("nan")),
        (NUMBER, float("inf")),
        (WHOLE, 2.5),
        (WHOLE, 11),
        (WHOLE, -1),
        (TEXT, 5),
    ],
)
def test_a_value_of_another_kind_is_refused(column: Column, value: Value) -> None:
    """The column is named; the value, which may be a person's, is not."""
    with pytest.raises(NotListed) as refusal:
        cell(column, value)
    assert str(refusal.value).startswith(f"{column.name}: ")
    assert str(value) not in str(refusal.value)


def test_a_text_column_without_a_list_or_pattern_is_refused() -> None:
    """Free text cannot leave by forgetting to say what is allowed."""
    free = Column(name="note", title="", type=Type.TEXT, rule="", source="")
    with pytest.raises(NotListed, match="note"):
        cell(free, "anything")


@pytest.mark.parametrize("change", [{"note": "x"}, {"count": ...}])
def test_a_missing_or_extra_value_stops_the_file(change: dict[str, object]) -> None:
    """A row has exactly the listed columns."""
    odd = {key: value for key, value in {**row(), **change}.items() if value is not ...}
    with pytest.raises(NotListed, match=next(iter(change))):
        written(odd)  # type: ignore[arg-type]


def test_a_required_cell_is_not_empty() -> None:
    """Every row has its key."""
    key = tables()["episodes"].columns[0]
    with pytest.raises(NotListed, match="episode_key"):
        cell(key, None)


@pytest.mark.parametrize(
    "key", ["1", "x" * 21, "-" * 22, "é" * 22, "\u0661" * 22, "a" * 22 + "\n"]
)
def test_only_a_drawn_key_is_a_key(key: str) -> None:
    """A number of the database is no key, nor is anything else of another form."""
    with pytest.raises(NotListed):
        cell(tables()["episodes"].columns[0], key)


def test_no_listed_word_ever_needs_the_guard() -> None:
    """With coded columns alone the quote never appears (1.5)."""
    for table in tables().values():
        for column in table.columns:
            for word in column.allowed:
                assert cell(column, word) == str(word)


def test_rows_pass_through_one_at_a_time() -> None:
    """Memory does not grow with the number of rows."""

    class Nowhere(io.BytesIO):
        def write(self, line: bytes) -> int:  # type: ignore[override]
            return len(line)

    def many(count: int) -> Iterator[dict[str, Value]]:
        for _ in range(count):
            yield row()

    peaks = []
    for count in (1_000, 20_000):
        tracemalloc.start()
        assert write_table(Nowhere(), TABLE, many(count)).rows == count
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert peaks[1] < peaks[0] * 1.5


def test_what_cancels_the_rows_cancels_the_file() -> None:
    """The caller's own exception comes through, and no row after it is written."""

    def cancelled() -> Iterator[dict[str, Value]]:
        yield row()
        raise KeyboardInterrupt

    file = io.BytesIO()
    with pytest.raises(KeyboardInterrupt):
        write_table(file, TABLE, cancelled())
    assert file.getvalue().count(b"\r\n") == 2


@given(st.text())
def test_any_text_comes_back_and_is_never_a_formula(text: str) -> None:
    """Whatever is written is read back; what starts it is no trigger."""
    try:
        text.encode()
    except UnicodeEncodeError:
        return
    first = next(csv.reader(io.StringIO(written(row(text)).decode(), newline="")))
    assert first == ["words", "change", "count"]
    _, found = csv.reader(io.StringIO(written(row(text)).decode(), newline=""))
    assert found[0] in (text, f"'{text}")
    assert not found[0] or found[0][0] not in TRIGGERS
    assert not found[0].strip() or found[0].strip()[0] not in TRIGGERS
