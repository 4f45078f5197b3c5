"""Scoring a file of forms: what comes out, and what is refused where."""

import csv
import io
import os
import tracemalloc
from collections.abc import Callable
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from outcomes.science.answer_file import BadFile, decoded, scored_rows, shown
from outcomes.science.measures import measure
from tests.outcomes.vectors import vectors

AKPS_HEADER = "id," + ",".join(str(n) for n in range(1, 14))
PAIN = "id,1\n"
Run = Callable[[str, str | bytes], str]


def results(key: str, content: str | bytes) -> list[tuple[str, str, str]]:
    """The rows scored from a file given as text or bytes."""
    raw = content.encode() if isinstance(content, str) else content
    lines = io.BytesIO(raw)
    return [
        (r.id, r.score, r.reason) for r in scored_rows(measure(key), decoded(lines))
    ]


def refusal(key: str, content: str | bytes) -> BadFile:
    """Where and why a file is refused."""
    with pytest.raises(BadFile) as refused:
        results(key, content)
    return refused.value


@pytest.fixture
def run(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run the command on a file of this content and return what it prints."""

    def score_file(key: str, content: str | bytes) -> str:
        path = tmp_path / "answers.csv"
        path.write_bytes(content.encode() if isinstance(content, str) else content)
        call_command("score", key, str(path))
        return capsys.readouterr().out

    return score_file


def test_a_file_of_akps_forms_is_scored(run: Run) -> None:
    forms = {f["name"]: f for f in vectors("akps")["forms"]}
    rows = [
        f"{name},{form['answers'].replace('-', '').replace(' ', ',')}"
        for name, form in forms.items()
    ]
    printed = run("akps", "\n".join([AKPS_HEADER, *rows]) + "\n")
    assert printed == (
        "id,score,reason\n"
        "best,100,\n"
        "worst,0,\n"
        "K1 baseline,74,\n"
        "K1 follow-up,89,\n"
        "K1 without item 10,,Missing: item 10; all 13 are needed for a score.\n"
        "K1 without items 10 and 12,,Missing: items 10 and 12; all 13 are needed for "
        "a score.\n"
    )


def test_what_is_printed_can_be_read_as_csv_again(run: Run) -> None:
    content = "id,1,2,3,4,5,6,7,8,9,10,11\n" + '"Ada, ""second""",2' + "," * 10 + "\n"
    rows = list(csv.DictReader(io.StringIO(run("koos_pf", content))))
    assert rows[0]["id"] == 'Ada, "second"'
    assert rows[0]["reason"].startswith("1 of 11 items answered")


def test_letters_may_be_of_either_case() -> None:
    assert results("akps", f"{AKPS_HEADER}\nx{',A' * 12},b\n") == [("x", "98", "")]


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (72.0, "72"),
        (54.545454545454547, "54.5455"),
        (5.666666666666667, "5.6667"),
        (3.5, "3.5"),
        (0.0, "0"),
        (-7, "-7"),
        (99.99999999, "100"),
    ],
)
def test_a_score_is_printed_without_needless_decimals(value: float, text: str) -> None:
    assert shown(value) == text


@pytest.mark.parametrize(
    "content",
    [
        b"\xef\xbb\xbfid,1\r\nx,7\r\n",  # byte-order mark, Windows line ends
        b"id,1\nx,7",  # no line end at the end
        b"ID , 1\n x , 7 \n",  # spaces
        b"id,1\n\nx,7\n,\n\n",  # blank lines, and a row of blank cells
        b'"id","1"\n"x","7"\n',  # quoted
    ],
)
def test_ordinary_variations_of_a_csv_file_are_read(content: str | bytes) -> None:
    assert results("pain_worst", content) == [("x", "7", "")]


def test_an_empty_cell_of_one_rating_is_a_missing_answer() -> None:
    assert results("groc", "id,1\nx,-7\ny,\n") == [
        ("x", "-7", ""),
        ("y", "", "Nothing was answered."),
    ]


@pytest.mark.parametrize(
    ("content", "score"),
    [("id,1,2,3,4,5\nx,3,2,4,,\n", "3"), ("id,1,2\nx,3,2\n", "2.5")],
)
def test_the_psfs_takes_one_to_five_activities(
    content: str | bytes, score: str
) -> None:
    assert results("psfs", content) == [("x", score, "")]


def test_a_file_with_only_a_header_gives_no_rows() -> None:
    assert results("pain_worst", "id,1\n") == []


@pytest.mark.parametrize(
    ("key", "content", "line", "column", "problem"),
    [
        ("pain_worst", "", 1, 1, "the file is empty"),
        ("pain_worst", "id;1\nx;7\n", 1, 1, "must be id,1, separated by commas"),
        ("pain_worst", "x,7\n", 1, 1, "must be id,1"),
        ("pain_worst", "id,worst\n", 1, 2, "must be id,1"),
        ("pain_worst", "id,1,2\n", 1, 3, "has 3 columns, not 2"),
        ("pain_worst", "id\n", 1, 1, "has 1 columns, not 2"),
        ("psfs", "id,1,2,3,4,5,6\n", 1, 7, "has 7 columns, not 6"),
        ("psfs", "id,1,3\n", 1, 3, "must be id,1,2"),
        ("lefs", "id,1,2\n", 1, 3, "has 3 columns, not 21: id,1,2,...,20"),
        ("pain_worst", f"{PAIN}x,7\ny,11\n", 3, 2, "'11' is not an answer"),
        ("pain_worst", f"{PAIN}x,7.5\n", 2, 2, "a whole number from 0 to 10"),
        ("pain_worst", f"{PAIN}x,7,7\n", 2, 3, "has 3 columns, not 2"),
        ("pain_worst", f"{PAIN}x\n", 2, 1, "has 1 columns, not 2"),
        ("pain_worst", f"{PAIN},7\n", 2, 1, "the id is empty"),
        ("pain_worst", f'{PAIN}"x\ny",7\nz,q\n', 4, 2, "'q' is not an answer"),
        ("pain_worst", f'{PAIN}"x,7\n', 2, 1, "not CSV"),
        ("pain_worst", f'{PAIN}"x"y,7\n', 2, 1, "not CSV"),
        (
            "akps",
            f"{AKPS_HEADER}\nx{',a' * 12},d\n",
            2,
            14,
            "Item 13 takes a letter: a, b or c.",
        ),
    ],
)
def test_a_wrong_file_is_refused_with_line_and_column(
    key: str, content: str | bytes, line: int, column: int, problem: str
) -> None:
    refused = refusal(key, content)
    assert (refused.line, refused.column) == (line, column)
    assert problem in str(refused)
    assert str(refused).startswith(f"Line {line}, column {column}: ")


@pytest.mark.parametrize(
    ("content", "line"),
    [
        (b"\xff\xfei\x00d\x00", 1),  # UTF-16
        (b"id,1\nx,\xe9\n", 2),  # Latin-1
        (b"id,1\nx,7\0\n", 2),
        (b"PK\x03\x04\x14\x00\x06\x00", 1),  # a spreadsheet, zipped
    ],
)
def test_a_file_that_is_not_text_is_refused(content: str | bytes, line: int) -> None:
    refused = refusal("pain_worst", content)
    assert refused.line == line
    assert "UTF-8" in str(refused)


def test_nothing_is_printed_of_a_file_that_goes_wrong_later(
    run: Run, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(CommandError, match="Line 3, column 2") as refused:
        run("pain_worst", f"{PAIN}x,7\ny,11\n")
    assert refused.value.returncode == 1
    assert capsys.readouterr().out == ""


def test_every_faulty_row_is_listed(run: Run) -> None:
    """In order, each with its line; sound rows between them do not matter."""
    with pytest.raises(CommandError) as refused:
        run("pain_worst", f"{PAIN}w,11\nx,7\ny,7,7\n,3\n")
    lines = str(refused.value).splitlines()
    assert [line.partition("Line ")[2][:1] for line in lines[:3]] == ["2", "4", "5"]
    assert lines[3] == "Nothing was scored: correct these 3 rows."


def test_a_long_list_of_faulty_rows_is_cut(run: Run) -> None:
    """All are counted, the first 200 are listed."""
    with pytest.raises(CommandError) as refused:
        run("pain_worst", PAIN + "x,11\n" * 1203)
    lines = str(refused.value).splitlines()
    assert len(lines) == 202
    assert lines[200] == "… and 1,003 more."


def test_a_missing_file_is_said(tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="cannot be read: No such file"):
        call_command("score", "akps", str(tmp_path / "nowhere.csv"))


def test_an_unknown_measure_is_answered_with_the_known_ones(tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="The measures are akps, koos_pf"):
        call_command("score", "kujala", str(tmp_path / "nowhere.csv"))


@pytest.mark.parametrize("fill", [b"a", b"a,", b'"', None], ids=str)
def test_fifty_megabytes_of_rubbish_are_refused_in_little_memory(
    tmp_path: Path, fill: bytes | None
) -> None:
    path = tmp_path / "rubbish.csv"
    block = os.urandom(1_000_000) if fill is None else (fill * 1_000_000)[:1_000_000]
    with path.open("wb") as rubbish:
        for _ in range(50):
            rubbish.write(block)
    tracemalloc.start()
    try:
        with pytest.raises(CommandError, match="Line 1, column 1"):
            call_command("score", "pain_worst", str(path))
        assert tracemalloc.get_traced_memory()[1] < 5_000_000
    finally:
        tracemalloc.stop()


def test_a_quote_left_open_is_refused_in_little_memory(tmp_path: Path) -> None:
    path = tmp_path / "open.csv"
    with path.open("w") as rubbish:
        rubbish.write(PAIN + '"')
        for _ in range(100_000):
            rubbish.write("seven,7\n")
    with pytest.raises(CommandError, match=r"Line 2, column 1: this is not CSV"):
        call_command("score", "pain_worst", str(path))
