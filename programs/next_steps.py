"""The suggestions of a case as its pages and its acts read them: one way for both."""

from datetime import date

from clinic.models import Episode

from .course import Course, read_course
from .models import Prescription
from .suggesting import Advice, NextStep, advise
from .usual_pain import usual_pain


def read_advice(
    episode: Episode, *, on: date, course: Course | None = None
) -> Advice | None:
    """Return what is suggested for a case; a fixed number of queries."""
    read = course or read_course(episode)
    if not read.running(on):
        return None
    return advise(read, episode=episode, on=on, usual=usual_pain(episode))


def find_step(episode: Episode, line: Prescription, *, on: date) -> NextStep | None:
    """Return what is suggested for one line now; None where nothing is."""
    advice = read_advice(episode, on=on)
    steps = advice.steps if advice else ()
    return next((step for step in steps if step.prescription.pk == line.pk), None)


def step_to_edit(
    episode: Episode, line: Prescription, *, token: str, on: date
) -> NextStep | None:
    """Return the suggestion that a change form was opened from, while it is asked."""
    step = find_step(episode, line, on=on) if token else None
    return step if step and step.is_asked and step.token == token else None
