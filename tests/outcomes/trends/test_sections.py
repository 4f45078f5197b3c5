"""What every section owes: traceable numbers, true words for hardly any case."""

import re
from datetime import timedelta
from importlib import import_module
from random import Random

import pytest

from outcomes.frames.period import PeriodData
from outcomes.trends.reading import SECTIONS
from outcomes.trends.sections import Block, Section
from outcomes.trends_titles import TITLES

from .period_data import ON, Case, period_data

KEYS = sorted(SECTIONS)


def build(key: str, data: PeriodData) -> Section:
    """Build one section."""
    return SECTIONS[key].build(data)


def many(count: int = 150) -> PeriodData:
    """Return an invented clinic of two years with all that can happen to a case."""
    rng = Random(7)
    cases = []
    for number in range(count):
        opened = ON - timedelta(days=rng.randint(20, 720))
        baseline = rng.randint(45, 97)
        days = [0, 21, 42, 84][: rng.choice((0, 1, 2, 4, 4, 4, 4))]
        scores = [(d, min(baseline + rng.randint(-4, 20), 100)) for d in days]
        last = (scores or [(0, 0)])[-1][0]
        has_ended = opened + timedelta(days=last) < ON and rng.random() < 0.6
        cases.append(
            Case(
                opened_on=opened,
                scores=[(d, s) for d, s in scores if opened + timedelta(days=d) <= ON],
                patient=number // 2 + 1 if number < 10 else number + 1000,
                clinician=rng.choice((1, 1, 2, 2, 2, 3)),
                side=rng.choice(("left", "right")),
                months=rng.uniform(1, 40),
                discharged_on=opened + timedelta(days=last) if has_ended else None,
                reason=rng.choice(("goals met", "stopped attending"))
                if has_ended
                else "",
                irritability=rng.choice(("", "low", "moderate", "high")),
            )
        )
    return period_data(cases)


STATES = {
    "no case": period_data([]),
    "one patient": period_data([Case(scores=[(0, 60), (84, 75)])]),
    "one just begun": period_data([Case(opened_on=ON, scores=[(0, 60)])]),
    "all lost": period_data([Case(scores=[(0, 60)]) for _ in range(12)]),
    "all at the ceiling": period_data(
        [Case(scores=[(0, 98), (84, 98)]) for _ in range(12)]
    ),
    "one clinician": period_data(
        [Case(scores=[(0, 60), (84, 60 + n)]) for n in range(24)]
    ),
    "nobody measured": period_data([Case() for _ in range(12)]),
    "many": many(),
}


@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize("key", KEYS)
def test_every_section_says_something_true(key: str, state: str) -> None:
    """No state of a clinic breaks a page or leaves a hole in its words."""
    section = build(key, STATES[state])
    assert section.key == key
    assert section.title == TITLES[key]
    assert section.blocks
    for block in section.blocks:
        words = [block.says, *block.notes, *(left.words for left in block.left_out)]
        words += [cell.text for row in block.table.rows for cell in row]
        for said in words:
            hole = re.search(r"\b(nan|inf|NaT)\b|^None$", said)
            assert not hole, f"{block.title}: {said}"
        assert 0 <= block.n <= block.of, block.title


@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize("key", KEYS)
def test_every_counted_number_is_that_of_its_cases(key: str, state: str) -> None:
    """Whoever clicks a number sees as many cases as it says."""
    section = build(key, STATES[state])
    for block in section.blocks:
        for head, text, cases in traced(block):
            assert cases in section.sets, f"{block.title}: {cases}"
            number = re.fullmatch(r"(\d+)( of \d+.*)?", text)
            if number and not NO_COUNT.search(head):
                assert int(number[1]) == len(section.sets[cases]), block.title
        for left in block.left_out:
            if left.cases:
                assert left.count == len(section.sets[left.cases]), left.words


# What a column holds when it traces to cases without counting them.
NO_COUNT = re.compile(
    r"mean|median|score|age|week|day|month|change|gain|%|per cent", re.I
)


def traced(block: Block) -> list[tuple[str, str, str]]:
    """Return heading, text and set of the cells that name a set of cases."""
    table = block.table
    return [
        (head, cell.text, cell.cases)
        for row in table.rows
        for head, cell in zip(table.head, row, strict=True)
        if cell.cases
    ]


@pytest.mark.parametrize("key", KEYS)
def test_rows_are_as_wide_as_their_head(key: str) -> None:
    """A table that is read aloud needs a heading for every cell."""
    for block in build(key, STATES["many"]).blocks:
        for row in block.table.rows:
            assert len(row) == len(block.table.head), block.title


@pytest.mark.parametrize("key", KEYS)
def test_numbers_can_be_traced_where_there_are_cases(key: str) -> None:
    """With many cases each section has numbers that lead to them."""
    section = build(key, STATES["many"])
    assert any(traced(block) for block in section.blocks) or key in NEEDS_MORE


# Built from frames that a hand-made period leaves empty.
NEEDS_MORE = {"stalled", "given"}


@pytest.mark.parametrize("key", KEYS)
def test_the_cases_of_a_set_are_in_the_period(key: str) -> None:
    """No set holds a case twice, or one that was not chosen."""
    data = STATES["many"]
    for name, cases in build(key, data).sets.items():
        assert len(set(cases)) == len(cases), name
        assert set(cases) <= set(data.cases.index), name


@pytest.mark.parametrize("key", KEYS)
def test_figures_name_roles_and_no_colours(key: str) -> None:
    """The page gives roles their ink; each figure has words beside it."""
    for block in build(key, STATES["many"]).blocks:
        if block.figure is None:
            continue
        assert block.figure.title
        for trace in block.figure.data["data"]:
            assert "role" in trace["meta"], block.title
            assert "color" not in trace.get("line", {}), block.title
            assert "color" not in trace.get("marker", {}), block.title


def test_titles_and_sections_are_the_same() -> None:
    """The page lists what can be built, in the same order."""
    assert list(TITLES) == list(SECTIONS)


def test_sections_load_no_django_by_themselves() -> None:
    """They are built from frames; who may see them is decided elsewhere."""
    for entry in SECTIONS.values():
        module = import_module(f"outcomes.trends.{entry.module}")
        assert not {"Episode", "User", "models"} & set(vars(module))
