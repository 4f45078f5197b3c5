"""Turns answers into a score, or into the reason why there is none."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from .measures import Item, Measure

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Answer = str | int
Numbers = TypeVar("Numbers")


@dataclass(frozen=True, slots=True)
class Score:
    """An unrounded score in scale points, from `answered` of `of` items."""

    value: float
    answered: int
    of: int


@dataclass(frozen=True, slots=True)
class Unscorable:
    """Why there is no score, and the keys of the items that are missing."""

    reason: str
    missing: tuple[str, ...]

    @property
    def briefly(self) -> str:
        """Return "item 10 is missing.", or the reason where no item is named."""
        if not self.missing:
            return self.reason
        many, verb = ("items", "are") if self.missing[1:] else ("item", "is")
        return f"{many} {_listed(self.missing)} {verb} missing."


@dataclass(frozen=True, slots=True)
class Estimate:
    """A guess from incomplete answers: never a Score, never judged for change."""

    value: float
    answered: int
    of: int


class BadAnswer(ValueError):
    """An answer or an item that the measure does not have."""

    def __init__(self, message: str, what: str = "value") -> None:
        super().__init__(message)
        self.message = message
        self.what = what


def parse_answer(measure: Measure, item_key: str, raw: str) -> Answer:
    """Read one typed answer into its stored code; BadAnswer says what is allowed."""
    item = _item(measure, item_key)
    text = raw.strip().lower()
    for option in item.options:
        spellings = (
            (str(option.code), f"{option.code:+d}")
            if isinstance(option.code, int)
            else (option.code,)
        )
        if text in spellings:
            return option.code
    raise BadAnswer(_what_is_allowed(measure, item))


def score(measure: Measure, answers: Mapping[str, Answer | None]) -> Score | Unscorable:
    """Score one form; an item without a key, or with None, is missing."""
    given = _given(measure, answers)
    points = [_points(measure, key, answer) for key, answer in given.items()]
    expected = _expected(measure, answers)
    missing = tuple(key for key in expected if key not in given)
    if len(points) < measure.missing.at_least:
        return Unscorable(_why_not(measure, missing, len(points)), missing)
    value = _from_sum(measure, sum(points), len(points))
    return Score(float(value), len(points), len(expected))


def score_table(
    measure: Measure, codes: NDArray[np.integer]
) -> tuple[NDArray[np.float64], NDArray[np.intp]]:
    """Score many forms: a row a form, a column an item, option indexes, -1 missing.

    Returns scores (nan where there is none) and the number of items answered.
    """
    import numpy as np

    items = _columns(measure, codes.shape[1])
    widths = np.array([len(item.options) for item in items])
    if ((codes < -1) | (codes >= widths)).any():
        raise BadAnswer(f"{measure.short_name} has no such option.")
    key = np.zeros((len(items), widths.max(initial=0) + 1))
    for column, item in enumerate(items):
        key[column, : len(item.options)] = [option.points for option in item.options]
    # Index -1 reads the spare last column, which holds 0 points.
    sums = key[np.arange(len(items)), codes].sum(axis=1)
    answered = (codes >= 0).sum(axis=1)
    is_scorable = answered >= measure.missing.at_least
    values = _from_sum(measure, sums, np.maximum(answered, 1))
    return np.where(is_scorable, values, np.nan), answered


def estimate(measure: Measure, answers: Mapping[str, Answer | None]) -> Estimate | None:
    """Guess the score of a nearly complete form; None if complete or too few.

    Sum of the points given, as a share of the most that those items allow, of
    the whole range. A project assumption: no published rule is known.
    """
    given = _given(measure, answers)
    absent = len(measure.items) - len(given)
    if not 1 <= absent <= measure.estimate_missing:
        return None
    points = sum(_points(measure, key, answer) for key, answer in given.items())
    most = sum(_item(measure, key).most_points for key in given)
    return Estimate(points / most * measure.high, len(given), len(measure.items))


def _from_sum(measure: Measure, points: Numbers, answered: Numbers) -> Numbers:
    """The one formula of each method, on numbers and on arrays alike.

    `scaled_mean` is the KOOS family's 100 - mean x 100/4 (scoring document of
    August 2012), in which more points mean more trouble.
    """
    if measure.method in ("sum", "single"):
        return points
    mean = points / answered  # type: ignore[operator]
    if measure.method == "mean":
        return mean
    width = measure.high - measure.low
    most = measure.items[0].most_points
    return measure.high - mean * width / most


def _given(measure: Measure, answers: Mapping[str, Answer | None]) -> dict[str, Answer]:
    given = {key: answer for key, answer in answers.items() if answer is not None}
    for key in answers:
        _item(measure, key)
    if len(given) > len(measure.items):
        raise BadAnswer(
            f"{measure.short_name} takes at most {len(measure.items)} activities at "
            "a time.",
            what="item",
        )
    return given


def _expected(measure: Measure, answers: Mapping[str, Answer | None]) -> list[str]:
    """The items a form should answer: all, or the activities the patient named."""
    if measure.has_own_items:
        return list(answers)
    return [item.key for item in measure.items]


def _points(measure: Measure, key: str, answer: Answer) -> float:
    item = _item(measure, key)
    for option in item.options:
        if option.code == answer and not isinstance(answer, bool):
            return option.points
    raise BadAnswer(_what_is_allowed(measure, item))


def _item(measure: Measure, key: str) -> Item:
    item = measure.item(key)
    if item is None:
        names = f"{measure.items[0].key} to {measure.items[-1].key}"
        names = names if len(measure.items) > 1 else measure.items[0].key
        raise BadAnswer(
            f"{measure.short_name} has no item {key!r}; its items are {names}.",
            what="item",
        )
    return item


def _columns(measure: Measure, width: int) -> list[Item]:
    """The items behind the columns of a table; fewer are allowed if named."""
    is_right = width == len(measure.items)
    if not is_right and not (measure.has_own_items and 1 <= width < len(measure.items)):
        raise BadAnswer(
            f"{measure.short_name} has {len(measure.items)} items, not {width}.",
            what="item",
        )
    return list(measure.items[:width])


def _what_is_allowed(measure: Measure, item: Item) -> str:
    codes = [option.code for option in item.options]
    asked = f"Item {item.key}" if len(measure.items) > 1 else measure.short_name
    if isinstance(codes[0], int):
        return f"{asked} takes a whole number from {codes[0]} to {codes[-1]}."
    letters = [str(code) for code in codes]
    return f"{asked} takes a letter: {', '.join(letters[:-1])} or {letters[-1]}."


def _why_not(measure: Measure, missing: tuple[str, ...], answered: int) -> str:
    """The reason in words, naming the missing items."""
    if measure.method == "single" or measure.has_own_items:
        return "Nothing was answered."
    many = "items" if len(missing) > 1 else "item"
    named = _listed(missing)
    needed, of = measure.missing.at_least, len(measure.items)
    if needed == of:
        return f"Missing: {many} {named}; all {of} are needed for a score."
    return (
        f"{answered} of {of} items answered and at least {needed} are needed; "
        f"missing: {many} {named}."
    )


def _listed(keys: tuple[str, ...]) -> str:
    if len(keys) == 1:
        return keys[0]
    return f"{', '.join(keys[:-1])} and {keys[-1]}"
