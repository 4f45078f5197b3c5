"""Small words that every letter is made of: names, days, lists, endings."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING
from unicodedata import bidirectional

from clinic.models import Episode, Patient
from clinic.templatetags.clinic_format import lower_first, score
from programs.lines import line_of
from programs.models import Prescription

from ..science.verdicts import MONTHS, day

if TYPE_CHECKING:
    from ..science.measures import Measure
    from .record import Ratings

LISTED = 8  # more scores than these are told by their first, their range and the last
# How far a source was checked, in words for people outside of this software.
MARKS = {
    "project assumption": "our assumption",
    "from memory": "source not checked",
    "confirmed, secondary source": "from a second-hand source",
}
# Without this mark a part that begins with such a name would run from right to left.
MARK_OF_LEFT = "\N{LEFT-TO-RIGHT MARK}"
ISOLATE, END_OF_ISOLATE = "\N{FIRST STRONG ISOLATE}", "\N{POP DIRECTIONAL ISOLATE}"
RIGHT_TO_LEFT = {"R", "AL"}


def name_of(patient: Patient) -> str:
    """Return given and family name, isolated where they run from right to left."""
    name = f"{patient.given_name} {patient.family_name}".strip()
    if any(bidirectional(letter) in RIGHT_TO_LEFT for letter in name):
        return f"{MARK_OF_LEFT}{ISOLATE}{name}{END_OF_ISOLATE}"
    return name


def paragraphs(words: Iterable[str]) -> str:
    """Return what is said as paragraphs; nothing for what is empty."""
    return "\n\n".join(filter(None, words))


def ended(episode: Episode) -> str:
    """Return the day and the reason of the discharge; nothing while in care."""
    if not episode.discharged_on:
        return ""
    reason = lower_first(episode.get_discharge_reason_display())
    return f"Care ended on {day(episode.discharged_on)}: {reason}."


def began_about(episode: Episode) -> str:
    """Return the month of the first symptoms, whose day is rarely known."""
    began = episode.symptom_onset_on
    return f"{MONTHS[began.month - 1]} {began.year}"


def scale_of(about: Measure) -> str:
    """Return "0 to 100, higher is better"."""
    direction = f", {about.better.sentence}" if about.better else ""
    return f"{about.low:g} to {about.high:g}{direction}"


def listed(ratings: Ratings) -> str:
    """Return every score with its day; of many, the first, the range and the last."""
    last_on = ratings[-1][0]
    said = [f"{score(value)} on {day(on, beside=last_on)}" for on, value in ratings]
    last = f"{score(ratings[-1][1])} on {day(last_on)}"
    if len(ratings) <= LISTED:
        return ", ".join((*said[:-1], last))
    between = [value for _, value in ratings[1:-1]]
    low, high = score(min(between)), score(max(between))
    span = f"between {low} and {high}" if low != high else f"each {low}"
    return f"{said[0]}, then {len(between)} more ({span}), and {last}"


def for_outside(words: str) -> str:
    """Return words in which the marks of sources are told to people outside."""
    for mark, told in MARKS.items():
        words = words.replace(f", {mark})", f", {told})")
    return words


def names_of(lines: Iterable[Prescription]) -> list[str]:
    """Return the names of the exercises, each once, in their order."""
    return list(dict.fromkeys(line_of(line).name for line in lines))


def stopped(words: str) -> str:
    """Return words that end as a sentence does."""
    words = words.strip()
    return words if not words or words[-1] in ".!?…" else f"{words}."
