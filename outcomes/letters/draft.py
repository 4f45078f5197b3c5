"""Drafts the parts of a letter from the record; advice is left for people to write."""

from datetime import date

from clinic.models import Episode

from ..models import Letter
from .care import done_told, plan_told, safety_told
from .course import course_told, reason_told
from .parts import Part
from .plain import summary_parts
from .record import LetterRecord, read_record
from .words import ended, paragraphs

ADVICE = Part(
    "Advice",
    ask="What you advise. The record holds no advice: write it here, or remove this "
    "part.",
)
GOES_ON = Part(
    "What the patient goes on with",
    ask="What the patient goes on with, and when to come back. The discharge has no "
    "note: write it here, or remove this part.",
)
PLAN = Part(
    "Plan",
    ask="What is planned. The record holds no running programme, decision or next "
    "visit: write it here, or remove this part.",
)
END = Part(
    "End of care",
    ask="On which day care ends, and why. On record the case is still in care: "
    "discharge it first, or write it here.",
)


def draft_parts(episode: Episode, *, kind: str, on: date) -> tuple[Part, ...]:
    """Return the parts of a letter as the record stands on a day.

    A part without text carries in `ask` what has to be written or removed before
    the letter can be signed.
    """
    return _DRAFTS[Letter.Kind(kind)](read_record(episode, on=on))


def progress_parts(record: LetterRecord) -> tuple[Part, ...]:
    """Return the parts of a letter while care goes on."""
    return (*_told(record), _or_ask(PLAN, paragraphs(plan_told(record))), ADVICE)


def discharge_parts(record: LetterRecord) -> tuple[Part, ...]:
    """Return the parts of a letter at the end of care."""
    return (
        *_told(record),
        _or_ask(END, ended(record.episode)),
        _or_ask(GOES_ON, record.episode.discharge_note.strip()),
        ADVICE,
    )


_DRAFTS = {
    Letter.Kind.PROGRESS: progress_parts,
    Letter.Kind.DISCHARGE: discharge_parts,
    Letter.Kind.SUMMARY: summary_parts,
}


def _told(record: LetterRecord) -> tuple[Part, ...]:
    return (
        Part("Reason for care", paragraphs(reason_told(record))),
        Part("Course", paragraphs(course_told(record))),
        Part("What was done", paragraphs(done_told(record))),
        Part("Safety", paragraphs(safety_told(record))),
    )


def _or_ask(part: Part, text: str) -> Part:
    """Return the part with what is on record, or asking for it."""
    return Part(part.heading, text) if text else part
