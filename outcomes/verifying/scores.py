"""Every stored result worked out again from what was entered, and compared."""

import math
from collections.abc import Iterator
from typing import Any

from clinic.models import Screen
from clinic.screening import positives

from ..models import Assessment, PhysicalResult
from ..physical_recording import ImpossibleEntry, result_of
from ..science.measures import catalogue
from ..science.physical_file import physical_tests
from ..science.physical_tests import Summary, Trial
from ..science.scoring import BadAnswer, Score, score
from .faults import CHUNK, Counted, Fault

# Scores are exact to the last bits of a float; the smallest real step is 0.25.
NEARLY = 1e-9
COMPARE = (
    "Compare with the audit trail or with a backup; a clinician voids it and enters "
    "it again. It is not mended by itself."
)


def scores_from_answers(counted: Counted) -> Iterator[Fault]:
    """Yield questionnaires whose score does not follow from their answers.

    Scores of another edition of the key are counted and left alone: they were
    right by the key of their day.
    """
    rows = Assessment.objects.order_by("pk").values_list(
        "pk", "measure", "edition", "answers", "score"
    )
    for pk, key, edition, answers, stored in rows.iterator(CHUNK):
        about = catalogue().get(key)
        if about is not None and about.edition != edition:
            counted.older_editions += 1
            continue
        counted.scores += 1
        if wrong := _wrong_score(key, answers, stored):
            yield Fault(f"{Assessment._meta.db_table} {pk}", wrong, COMPARE)


def _wrong_score(key: str, answers: Any, stored: float | None) -> str:
    """Return what is wrong with a score; nothing when it follows."""
    about = catalogue().get(key)
    if about is None:
        return f"there is no measure “{key}”."
    if not isinstance(answers, dict):
        return "its answers are no list of items."
    try:
        made = score(about, answers)
    except BadAnswer as bad:
        return f"holds an answer that the measure does not have ({bad.message})"
    return _differs(made.value if isinstance(made, Score) else None, stored)


def _differs(made: float | None, stored: float | None) -> str:
    """Return how two results differ, in words; nothing when they agree."""
    if made is None and stored is None:
        return ""
    if made is None:
        return f"{stored:g} is stored, and what was entered gives no result."
    if stored is None:
        return f"nothing is stored, and what was entered gives {made:g}."
    if math.isclose(made, stored, rel_tol=NEARLY, abs_tol=NEARLY):
        return ""
    return f"{stored:g} is stored, and what was entered gives {made:g}."


def physical_values(counted: Counted) -> Iterator[Fault]:
    """Yield physical tests whose value does not follow from their trials."""
    rows = PhysicalResult.objects.order_by("pk").values_list(
        "pk", "test", "edition", "trials", "unit", "value"
    )
    for pk, key, edition, trials, unit, stored in rows.iterator(CHUNK):
        about = physical_tests().get(key)
        if about is not None and about.edition != edition:
            counted.older_editions += 1
            continue
        counted.scores += 1
        if wrong := _wrong_value(key, trials, unit, stored):
            yield Fault(f"{PhysicalResult._meta.db_table} {pk}", wrong, COMPARE)


def _wrong_value(key: str, trials: Any, unit: str, stored: float | None) -> str:
    about = physical_tests().get(key)
    if about is None:
        return f"there is no physical test “{key}”."
    try:
        made = result_of(about, tuple(Trial(**trial) for trial in trials), unit)
    except (ImpossibleEntry, TypeError) as bad:
        return f"holds trials that the test does not allow ({bad})"
    return _differs(made.value if isinstance(made, Summary) else None, stored)


def screens_from_answers(counted: Counted) -> Iterator[Fault]:
    """Yield red-flag screens that are marked otherwise than they were answered."""
    rows = Screen.objects.order_by("pk").values_list("pk", "answers", "is_positive")
    for pk, answers, is_positive in rows.iterator(CHUNK):
        counted.scores += 1
        if bool(positives(answers)) != is_positive:
            marked = "positive" if is_positive else "negative"
            says = f"is marked {marked}, and its answers say otherwise."
            yield Fault(f"{Screen._meta.db_table} {pk}", says, COMPARE)
