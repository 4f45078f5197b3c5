"""What the summary for the patient says: short sentences, and no more than is known.

Numbers of thresholds and their sources stay out of it. The urgent signs are those of
the home programme, which follow the red-flag checklist.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import TYPE_CHECKING

from clinic.models import Episode
from clinic.templatetags.clinic_format import lower_first, plural, score
from programs.handout import CLINIC_SIGNS, EMERGENCY_SIGNS, SAME_DAY_SIGNS

from ..science.measures import Direction, measure
from ..science.verdicts import Verdict, day
from .care import begun
from .parts import Part
from .words import began_about, names_of, paragraphs

if TYPE_CHECKING:
    from ..science.mcid import Change, Point
    from .record import LetterRecord, Ratings

UNSURE = "Such numbers also move by themselves, so we cannot be sure."
PLAIN = {
    Verdict.IMPROVED: "That is clearly better.",
    Verdict.REAL_NOT_IMPORTANT: "That is better, but the step is small.",
    Verdict.POSSIBLE: f"That may be better. {UNSURE}",
    Verdict.POINTS_ONLY: "That is lower. It is unclear whether the step is large "
    "enough to matter.",
    Verdict.PERCENT_ONLY: f"That may be a little better. {UNSURE}",
    Verdict.NONE: "The step is too small to tell from ordinary ups and downs.",
    Verdict.POSSIBLE_LOSS: f"That may be worse. {UNSURE}",
    Verdict.REAL_LOSS_NOT_IMPORTANT: "That is worse, but the step is small.",
    Verdict.WORSE: "That is clearly worse.",
    Verdict.CANNOT_SAY: "They were not taken in the same way, so we cannot compare.",
}
ABOUT = {
    "akps": "We asked how your knee copes with daily life and sport.",
    "koos_pf": "We asked about pain and stiffness at the front of your knee.",
    "lefs": "We asked how well your legs do daily tasks.",
    "psfs": "You named things that are hard for you, and rated each.",
}
BEST = {
    Direction.HIGHER: "A higher number is better.",
    Direction.LOWER: "A lower number is better.",
}
ENDED: dict[str, str] = {
    Episode.Reason.GOALS_MET: "Your goals were met.",
    Episode.Reason.NO_FURTHER_BENEFIT: "The reason on record is that going on "
    "brought no further benefit.",
    Episode.Reason.STOPPED_ATTENDING: "The reason on record is that you stopped "
    "coming.",
    Episode.Reason.REFERRED_ON: "You were referred to somebody else.",
    Episode.Reason.MOVED_AWAY: "The reason on record is that you moved away.",
}
# Under 18 pain about the hip is for the same day (the hip concern of the checklist),
# so the sign that sends adults with it to the clinic is told without the hip.
SHIN_SIGN = "new pain in the shin"
YOUNG_SIGN = "a limp, or pain in the hip, groin or thigh: stay off the leg"
LOCAL_RULES = (
    "If your clinic or your emergency service tells you something else, do what they "
    "say."
)
NO_ANSWERS = (
    "We have no full set of answers to our questions, so we have no number for how "
    "your knee went."
)
NUMBERS = "Numbers help us to look. How you feel counts too, so tell us."
WHAT_NOW = Part(
    "What to do now",
    ask="In plain words: what the patient does now, and what to do if the knee gets "
    "worse. Nothing on record says it: write it here, or remove this part.",
)
IN_PLAIN_WORDS = (
    "Taken from the note of the discharge. Put it in plain words for the patient."
)


def summary_parts(record: LetterRecord) -> tuple[Part, ...]:
    """Return the parts of the summary for the patient."""
    return tuple(_parts(record))


def _parts(record: LetterRecord) -> Iterator[Part]:
    yield Part("Your knee", paragraphs(_knee(record.episode)))
    yield Part("How it went", paragraphs(_course(record)))
    yield Part("What we did", paragraphs(_done(record)))
    if any(screen.is_positive for screen in record.screens):
        yield Part("A warning sign that we looked at", ask=_ask_of_flags(record))
    if record.events:
        yield Part("Something that went wrong", ask=_ask_of_events(record))
    if ended_on := record.episode.discharged_on:
        told = _ended(ended_on, record.episode.discharge_reason)
        yield Part("How your care ended", told)
    elif next_words := paragraphs(_next(record)):
        yield Part("What comes next", next_words)
    note = record.episode.discharge_note.strip()
    yield Part(WHAT_NOW.heading, note, IN_PLAIN_WORDS) if note else WHAT_NOW
    yield Part("When to get help", _help(record))


def _knee(case: Episode) -> Iterator[str]:
    stay = f"since {day(case.opened_on)}"
    if case.discharged_on:
        stay = f"from {day(case.opened_on)} to {day(case.discharged_on)}"
    both = " The other knee hurts too." if case.is_bilateral else ""
    start = "You were" if case.discharged_on else "You have been"
    yield (
        f"{start} in our care {stay} for pain in your {case.side} knee.{both} The "
        f"pain began about {began_about(case)}."
    )
    if goals := case.goals.strip():
        yield f"Your goals, in your words: “{goals}”"


def _course(record: LetterRecord) -> Iterator[str]:
    yield " ".join(_score(record))
    yield " ".join(_pain(record))
    if record.rating and record.rating_on:
        groc = measure("groc").items[0]
        value = record.rating.value
        felt = next(each.label for each in groc.options if each.code == value)
        since = "compared with your first visit"
        yield f"On {day(record.rating_on)} you said how it is {since}: {felt}."
    yield NUMBERS


def _score(record: LetterRecord) -> Iterator[str]:
    about = record.about
    if not record.points:
        yield NO_ANSWERS
        return
    yield ABOUT.get(about.key, "We asked you questions about your knee.")
    yield f"The answers give a number from {about.low:g} to {about.high:g}."
    if about.better:
        yield BEST[about.better]
    if about.has_own_items and not _same_items(record.points):
        yield "We compared only what you rated both times."
        yield from _verdict(record.change)
    else:
        yield from _first_and_last(record.scores, record.change)


def _same_items(points: tuple[Point, ...]) -> bool:
    """Tell whether the first and the latest rating are of the same activities."""
    first, last = points[0].answers or {}, points[-1].answers or {}
    return set(first) == set(last)


def _pain(record: LetterRecord) -> Iterator[str]:
    if not record.worst:
        yield "We have no rating of your worst pain."
        return
    yield "You rated the worst pain of the last week from 0 to 10. 0 is no pain."
    yield BEST[Direction.LOWER]
    yield from _first_and_last(record.worst, record.pain)


def _first_and_last(ratings: Ratings, change: Change | None) -> Iterator[str]:
    (first_on, first), (last_on, last) = ratings[0], ratings[-1]
    yield f"On {day(first_on)} it was {score(first)}."
    if len(ratings) == 1:
        yield "We have no later number to compare it with."
        return
    yield f"On {day(last_on)} it was {score(last)}."
    yield from _verdict(change)


def _verdict(change: Change | None) -> Iterator[str]:
    if change is None:
        return
    yield "That is the same." if change.gain == 0 else PLAIN[change.verdict]


def _done(record: LetterRecord) -> Iterator[str]:
    came = len(record.attended)
    yield f"You came to {plural(came, 'visit')}." if came else ""
    names = names_of(begun(record.course, on=record.on))
    if names:
        exercises = "\n".join(f"– {name}" for name in names)
        yield f"This was in your programme:\n{exercises}"
    if not came and not names:
        yield "There is no visit and no programme on record yet."


def _ask_of_flags(record: LetterRecord) -> str:
    days = [day(s.answered_on) for s in record.screens if s.is_positive]
    return (
        f"A warning sign was answered with yes ({'; '.join(days)}). Say in plain words "
        "what it was and what was decided, or remove this part."
    )


def _ask_of_events(record: LetterRecord) -> str:
    days = "; ".join(day(event.happened_on) for event in record.events)
    return (
        f"An adverse event is on record ({days}). Say in plain words what happened and "
        "what was done, or remove this part."
    )


def _next(record: LetterRecord) -> Iterator[str]:
    if running := names_of(record.course.running(record.on)):
        listed = "\n".join(f"– {name}" for name in running)
        yield f"Your programme now:\n{listed}"
    if record.next_visit_on:
        yield f"Your next visit is planned for {day(record.next_visit_on)}."


def _ended(on: date, reason: str) -> str:
    """Return the day and the reason of a discharge in words for the patient."""
    return f"Your care with us ended on {day(on)}. {ENDED.get(reason, '')}".strip()


def _help(record: LetterRecord) -> str:
    same_day: tuple[str, ...] = SAME_DAY_SIGNS
    clinic: tuple[str, ...] = CLINIC_SIGNS
    if record.is_young:
        same_day = (*SAME_DAY_SIGNS, YOUNG_SIGN)
        clinic = (*(sign for sign in CLINIC_SIGNS if "hip" not in sign), SHIN_SIGN)
    return paragraphs(
        (
            _signs("Get emergency care now for:", EMERGENCY_SIGNS),
            _signs("See a doctor the same day for:", same_day),
            _signs("Stop and call your clinic for:", clinic),
            LOCAL_RULES,
        )
    )


def _signs(start: str, signs: tuple[str, ...]) -> str:
    return "\n".join((start, *(f"– {lower_first(sign)}" for sign in signs)))
