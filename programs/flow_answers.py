"""What an answered flow-restriction screen has to hold before it is kept.

Once a contraindication has stopped a case, a bare "no" does not lift it: only a
physician's clearance does, on a new screen, or the withdrawal of the earlier screen
where that answer was a mistake.
"""

from collections.abc import Iterable, Mapping
from datetime import date

from clinic.models import Episode
from clinic.templatetags.clinic_format import day

from .dosing.flow_questions import questions
from .dosing.flow_screen import Answer, Clearance
from .models import FlowScreen

PHYSICIAN, SAID = "physician", "physician_answer"
SAID_ON, STOPPED_ON = "physician_answered_on", "stopped_on"
NOTHING_CLEARED = "No answer above is marked as cleared."
CLEARANCE_WANTED = {
    PHYSICIAN: "Name the physician who cleared it.",
    SAID: "Write what the physician answered.",
    SAID_ON: "Enter the day of the physician's answer.",
    STOPPED_ON: "Choose the screen that had stopped it.",
}


class ScreenRefused(ValueError):
    """Answers that make no screen; `errors` maps a question or field to a sentence."""

    def __init__(self, errors: Mapping[str, str]) -> None:
        """Keep one sentence per question or field."""
        self.errors = dict(errors)
        super().__init__("; ".join(f"{key}: {text}" for key, text in errors.items()))


def stops_of(episode: Episode) -> list[FlowScreen]:
    """Return the standing screens of a case that were stopped, newest first."""
    screens = FlowScreen.objects.standing().filter(episode=episode)
    newest_first = screens.order_by("-answered_on", "-pk")
    return [screen for screen in newest_first if stopping(screen)]


def stopping(screen: FlowScreen) -> frozenset[str]:
    """Return the contraindications that a screen answered with yes."""
    return frozenset(
        item.key
        for item in questions().contraindications
        if screen.answers.get(item.key) == Answer.YES
    )


def stopped_on_by_key(stops: Iterable[FlowScreen]) -> dict[str, date]:
    """Return the last day on which each contraindication was answered yes."""
    last_on: dict[str, date] = {}
    for screen in stops:
        for key in stopping(screen):
            last_on[key] = max(screen.answered_on, last_on.get(key, date.min))
    return last_on


def problems(
    answers: Mapping[str, str],
    *,
    clearance: Clearance | None,
    on: date,
    stops: Iterable[FlowScreen],
) -> dict[str, str]:
    """Return a sentence for each answer or field that has to be mended."""
    stops = list(stops)
    last_on = stopped_on_by_key(stops)
    found = {key: "There is no such question." for key in answers}
    for key in questions().keys:
        found.pop(key, None)
        if sentence := _wrong(key, answers.get(key), last_on):
            found[key] = sentence
    cleared = [key for key, answer in answers.items() if answer == Answer.CLEARED]
    if cleared and not found:
        return _clearance_problems(cleared, clearance, on, stops)
    if clearance and not found:
        found[PHYSICIAN] = NOTHING_CLEARED
    return found


def _wrong(key: str, answer: str | None, last_on: Mapping[str, date]) -> str:
    if key in last_on:
        if answer in (Answer.YES, Answer.CLEARED):
            return ""
        return (
            f"Answered yes on {day(last_on[key])}. Answer yes, or give a physician's "
            "clearance; if that yes was a mistake, void that screen first."
        )
    if answer == Answer.CLEARED:
        return "Nothing to clear: no screen of this case was stopped by it."
    return "" if answer in (Answer.NO, Answer.YES) else "Answer no or yes."


def _clearance_problems(
    cleared: list[str],
    clearance: Clearance | None,
    on: date,
    stops: list[FlowScreen],
) -> dict[str, str]:
    if clearance is None:
        return dict(CLEARANCE_WANTED)
    found = {
        field: CLEARANCE_WANTED[field]
        for field, words in (
            (PHYSICIAN, clearance.physician),
            (SAID, clearance.answer),
        )
        if not words.strip()
    }
    last_on = stopped_on_by_key(stops)
    latest_on = max(clearance.stopped_on, *(last_on[key] for key in cleared))
    if not latest_on <= clearance.answered_on <= on:
        found[SAID_ON] = (
            f"The answer has to come after it was stopped on {day(latest_on)}, and "
            "not after this screen."
        )
    if sentence := _wrong_stop(cleared, clearance, stops):
        found[STOPPED_ON] = sentence
    return found


def _wrong_stop(
    cleared: list[str], clearance: Clearance, stops: list[FlowScreen]
) -> str:
    """Hold the named screen against what is cleared by it."""
    named = [stop for stop in stops if stop.answered_on == clearance.stopped_on]
    if not named:
        return CLEARANCE_WANTED[STOPPED_ON]
    asked = questions().asked
    for key in cleared:
        if all(stop.answers.get(key) == Answer.NO for stop in named):
            return f"The screen of that day was not stopped by: {asked[key]}."
    return ""
