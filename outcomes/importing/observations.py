"""Reads observations.csv: one row a fact, each checked by itself."""

from collections.abc import Callable
from functools import lru_cache

from clinic.models import Side, Visit
from programs.models import NextMorning

from ..models import PAIN_KINDS, Activity
from ..science.measures import QUESTIONNAIRES, measure
from ..science.scoring import BadAnswer, parse_answer
from .cells import BadCell, RowCheck, Rules, read_choice, read_words, says
from .patients import MOST_IN_NUMBER
from .reading import Row, Sheet, shown
from .scratch import Fact, Scratch

COLUMNS = (
    "record_number",
    "side",
    "observed_on",
    "measure",
    "item",
    "value",
    "recorded_by",
)
VISIT_ITEMS = ("attendance", "next_day", "note")
MEASURES = ("visit", "pain", *QUESTIONNAIRES)
SIDES = frozenset(Side.values)
MOST_IN_ACTIVITY: int = Activity._meta.get_field("words").max_length or 0
AT_ONCE = 5_000
Content = tuple[str, str | int | None]
Told = Callable[[int], object]


def read_observations(
    sheet: Sheet, rules: Rules, scratch: Scratch, *, told: Told
) -> None:
    """Put every fact into the scratch table; `told` hears of bytes read."""
    facts: list[Fact] = []
    told_size = 0
    for row in sheet.rows():
        if row.is_whole and (fact := _read_row(row, sheet, rules)):
            facts.append(fact)
        if len(facts) >= AT_ONCE:
            scratch.add(facts)
            facts.clear()
            told(sheet.lines.size - told_size)
            told_size = sheet.lines.size
    scratch.add(facts)
    told(sheet.lines.size - told_size)


def _read_row(row: Row, sheet: Sheet, rules: Rules) -> Fact | None:
    """Return the fact, or what of it can still be looked up, or None."""
    number, side, day_text, key, item, value, username = row.cells
    side, key = side.lower(), key.lower()
    try:
        day = rules.day(day_text)
        by = rules.people[username]
        item, code = _read_content(key, item, value)
    except (BadCell, KeyError):
        return _report(row, sheet, rules)
    if side not in SIDES or not 0 < len(number) <= MOST_IN_NUMBER:
        return _report(row, sheet, rules)
    return Fact(number, day.toordinal(), side, key, item, code, by.pk, row.line)


def _report(row: Row, sheet: Sheet, rules: Rules) -> Fact | None:
    """Report each faulty cell; where the knee and the day are right, return those."""
    number, side, day_text, key, item, value, username = row.cells
    check = RowCheck(sheet.name, row.line, sheet.problems)

    def tried(column: str, read: Callable[[], object]) -> bool:
        try:
            read()
        except BadCell as bad:
            check.take(bad.column if column == "value" else column, bad)
            return False
        return True

    places = (
        tried("record_number", lambda: read_words(number, longest=MOST_IN_NUMBER)),
        tried("side", lambda: read_choice(side, tuple(Side.values), "side")),
        tried("observed_on", lambda: rules.day(day_text)),
    )
    tried("value", lambda: _read_content(key.lower(), item, value))
    tried("recorded_by", lambda: rules.person(username))
    if not all(places):
        return None
    day = rules.day(day_text).toordinal()
    return Fact(number, day, side.lower(), "", "", None, 0, row.line)


def _read_content(key: str, item: str, value: str) -> Content:
    """Return the item and the value as they are stored; raises BadCell.

    An empty value is None: the item is missing.
    """
    if key == "psfs":
        return " ".join(_activity(item).split()), _read_answer(key, "1", value)[1]
    if key == "visit" and item.lower() == "note":
        return "note", value or None
    return _read_known(key, item, value)


@lru_cache(maxsize=10_000)
def _read_known(key: str, item: str, value: str) -> Content:
    if key == "visit":
        return _read_visit(item.lower(), value)
    if key == "pain":
        return _read_pain(item.lower(), value)
    if key in QUESTIONNAIRES:
        return _read_answer(key, item.lower(), value)
    listed = ", ".join(MEASURES)
    sentence = f"write one of {listed}; {says(key)}."
    raise BadCell(sentence, "measure")


def _read_visit(item: str, value: str) -> Content:
    if item not in VISIT_ITEMS:
        listed = ", ".join(VISIT_ITEMS)
        raise BadCell(f"of a visit, write one of {listed}; {says(item)}.", "item")
    choices = Visit.Attendance if item == "attendance" else NextMorning
    if not value:
        return item, None
    return item, read_choice(value, tuple(choices.values), item)


def _read_pain(item: str, value: str) -> Content:
    if item not in PAIN_KINDS:
        listed = ", ".join(PAIN_KINDS)
        raise BadCell(f"of pain, write one of {listed}; {says(item)}.", "item")
    if not value:
        return item, None
    try:
        return item, parse_answer(measure(f"pain_{item}"), "overall", value)
    except BadAnswer:
        raise BadCell(f"pain is a whole number from 0 to 10; {says(value)}.") from None


def _read_answer(key: str, item: str, value: str) -> Content:
    instrument = measure(key)
    if not instrument.item(item):
        names = [known.key for known in instrument.items]
        listed = f"{names[0]} to {names[-1]}" if len(names) > 1 else names[0]
        raise BadCell(
            f"the items of {instrument.short_name} are {listed}; {says(item)}.", "item"
        )
    if not value:
        return item, None
    try:
        return item, parse_answer(instrument, item, value)
    except BadAnswer as bad:
        raise BadCell(f"{_allowed(key, bad)}; {says(value)}.") from None


def _allowed(key: str, bad: BadAnswer) -> str:
    """Say what the answer may be; PSFS items are named, not numbered."""
    instrument = measure(key)
    if instrument.has_own_items:
        low, high = instrument.low, instrument.high
        name = instrument.short_name
        return f"{name}: answer with a whole number from {low:g} to {high:g}"
    return bad.message.rstrip(".")


def _activity(words: str) -> str:
    if not words:
        raise BadCell("name the activity in the patient's words.", "item")
    if len(words) > MOST_IN_ACTIVITY:
        raise BadCell(
            f"shorten the activity to {MOST_IN_ACTIVITY} characters; "
            f"{says(shown(words))}.",
            "item",
        )
    return words
