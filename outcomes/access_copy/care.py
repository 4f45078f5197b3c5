"""Chapters of who and when: person, episodes, visits, safety, contacts, trail."""

from clinic.audit import ACTIONS
from clinic.looking import ONE_LOOK_MINUTES
from clinic.models import (
    AuditEvent,
    ContactAttempt,
    Cover,
    Episode,
    Patient,
    Screen,
    Visit,
)
from clinic.screening import checklist
from clinic.templatetags.clinic_format import moment

from ..models import CaseReview, ExportedCase, Letter
from ..science.measures import catalogue
from .kinds import Kind, Known, answered, choice_on, knee_words, listed, on_day
from .shape import Fact, fact


def primary_measure(row: Episode, known: Known) -> list[Fact]:
    """Return the measure that the case is followed by, by its name."""
    name = catalogue()[row.primary_measure].name
    return [Fact("primary_measure", "Main questionnaire", row.primary_measure, name)]


def letter_parts(row: Letter, known: Known) -> list[Fact]:
    """Return each paragraph of a letter under its heading."""
    parts = row.body.get("parts", [])
    return [
        fact(f"body.{number}", part["heading"] or "Text", part["text"])
        for number, part in enumerate(parts, start=1)
    ]


def sentence_of(row: AuditEvent) -> str:
    """Return what was done; an act of an earlier version by its code."""
    action = ACTIONS.get(row.action)
    return action.sentence if action else row.action


def what_was_done(row: AuditEvent, known: Known) -> list[Fact]:
    """Return an act by its sentence."""
    return [Fact("action", "What", row.action, sentence_of(row))]


def trail_heading(row: AuditEvent) -> str:
    """Return the moment and who did what: "3 Mar 2026, 14:05: A. B. did it"."""
    return f"{moment(row.at)}: {row.by_name} {sentence_of(row)}"


def who_received(row: ExportedCase, known: Known) -> list[Fact]:
    """Return to whom the de-identified rows went, and for what."""
    sent = row.export
    return [
        fact("export.made_at", "Made", sent.made_at),
        fact("export.recipient", "Received by", sent.recipient),
        fact("export.purpose", "For", sent.purpose),
        fact("export.legal_basis", "Legal basis", sent.legal_basis),
        fact("export.destroy_by_on", "To be destroyed by", sent.destroy_by_on),
    ]


PERSON = Kind(
    model=Patient,
    key="person",
    title="Details",
    about="Who you are in the clinic’s record.",
    path="pk",
    heading=str,
    order=("pk",),
    labels={
        "audit_declined_on": "Declined the use for audit on",
        "audit_declined_how": "How the clinic was told",
    },
)
EPISODES = Kind(
    model=Episode,
    key="episodes",
    title="Episodes of care",
    about="An episode follows one knee from the first day to the last.",
    path="patient",
    heading=knee_words,
    order=("opened_on", "pk"),
    labels={
        "is_bilateral": "Both knees hurt",
        "symptom_onset_on": "Pain began",
        "provoked_by": "What brings the pain on",
        "settles_in": "How soon it settles",
        "irritability": "How easily the knee is irritated",
        "schedule_weeks": "Questionnaires planned in weeks",
        "continues": "Goes on from",
    },
    special={"primary_measure": primary_measure},
)
COVERS = Kind(
    model=Cover,
    key="covers",
    title="Cover",
    about="Colleagues who stood in for your clinician.",
    path="episode__patient",
    heading=on_day("from_on", "From"),
    order=("from_on", "pk"),
    titled=("from_on",),
)
VISITS = Kind(
    model=Visit,
    key="visits",
    title="Visits",
    about="Each appointment with its note.",
    path="episode__patient",
    heading=on_day("visited_on"),
    order=("visited_on", "pk"),
    titled=("visited_on",),
)
SCREENS = Kind(
    model=Screen,
    key="red-flags",
    title="Safety questions",
    about="Asked to notice what needs a doctor. A yes is no diagnosis; it asks for a "
    "decision, which stands beside it.",
    path="episode__patient",
    heading=choice_on("form", "answered_on"),
    order=("answered_on", "pk"),
    titled=("form", "answered_on"),
    labels={"is_positive": "Any answer yes"},
    special={
        "answers": answered("answers", {c.key: c.ask for c in checklist()}, "Question")
    },
)
REVIEWS = Kind(
    model=CaseReview,
    key="reviews",
    title="Reviews",
    about="Decisions that your clinician wrote down when the course of your knee was "
    "looked at again.",
    path="episode__patient",
    heading=choice_on("decision", "reviewed_on"),
    order=("reviewed_on", "pk"),
    titled=("decision", "reviewed_on"),
    special={"findings": listed("findings", "What the software had pointed out")},
)
CONTACTS = Kind(
    model=ContactAttempt,
    key="contacts",
    title="Contacts",
    about="Tries to reach you.",
    path="episode__patient",
    heading=choice_on("way", "tried_on"),
    order=("tried_on", "pk"),
    titled=("way", "tried_on"),
)
LETTERS = Kind(
    model=Letter,
    key="letters",
    title="Letters",
    about="Letters about you; one without a signature is a draft.",
    path="episode__patient",
    heading=choice_on("kind", "written_on"),
    order=("written_on", "pk"),
    titled=("kind", "written_on"),
    special={"body": letter_parts},
)
EXPORTS = Kind(
    model=ExportedCase,
    key="exports",
    title="De-identified exports",
    about="Files without names for an audit in which rows of yours stood.",
    path="patient",
    heading=lambda row: row.export.recipient,
    order=("export__made_at", "pk"),
    titled=("export.recipient",),
    special={"export": who_received},
    left_out={
        "key": "random, wiped once the file is written; it would name your rows in it",
        "shown": "rounded values, wiped once the file is written",
    },
)


TRAIL = Kind(
    model=AuditEvent,
    key="trail",
    title="Who looked at, changed or copied your record",
    about="Every page of your record that somebody opened, every change, every copy "
    "that left the software, and who was refused. Who came back to a page within "
    f"{ONE_LOOK_MINUTES} minutes has one line for it.",
    path="patient",
    heading=trail_heading,
    order=("at", "pk"),
    titled=("action", "at", "by_name"),
    labels={"at": "When", "by_name": "Who", "detail": "Details"},
    special={"action": what_was_done},
    left_out={
        "by": "the name as it was on the day stands beside it",
        "chain": "ties the line to the one before, so that a change is found",
        "position": "the line's place in the chain",
        "previous": "as the chain",
        "salt": "as the chain",
        "digest": "as the chain",
        "hash": "as the chain",
    },
)
