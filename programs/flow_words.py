"""What the flow-restriction screen allows on a day, in words for a page."""

from dataclasses import dataclass

from clinic.templatetags.clinic_format import day

from .dosing.flow_questions import questions
from .dosing.flow_screen import (
    Blocked,
    Clear,
    Expired,
    Missing,
    NeedsDecision,
    ScreenStatus,
)


@dataclass(frozen=True, slots=True)
class FlowWords:
    """A status as it is shown: a title, what lies behind it, what to do next."""

    title: str
    lines: tuple[str, ...]
    next_step: str
    is_open: bool


def flow_words(status: ScreenStatus) -> FlowWords:
    """Say whether a cuff may be prescribed, why, and what to do."""
    title, next_step = _title(status)
    return FlowWords(title, _lines(status), next_step, status.is_open)


def _title(status: ScreenStatus) -> tuple[str, str]:
    match status:
        case Clear():
            title = f"The screen is valid until {day(status.until_on)}"
            return title, "An adverse event ends it earlier."
        case Blocked():
            return (
                "Ruled out: no exercise with blood-flow restriction",
                "There is no override. Have it cleared by a physician; then answer a "
                "new screen.",
            )
        case NeedsDecision():
            return (
                "A decision in words is missing",
                "Answer a new screen and write down what you decided and why.",
            )
        case Expired():
            title = f"The screen ended on {day(status.ended_on)}"
            return title, (
                "Answer a new screen before the next session with a cuff; after an "
                "event, on a later day than the event."
            )
        case Missing():
            title = "There is no valid screen"
            return title, "Answer the screen below, every question."


def _lines(status: ScreenStatus) -> tuple[str, ...]:
    """Return what lies behind a status, one question a line where there are some."""
    asked = questions()
    match status:
        case Blocked():
            stopping = {item.key: item for item in asked.contraindications}
            return tuple(
                f"{stopping[key].ask}. {stopping[key].reason}" for key in status.keys
            )
        case NeedsDecision() | Clear():
            cleared = {item.key for item in asked.contraindications}
            return tuple(
                f"{'Cleared by a physician' if key in cleared else 'Added risk'}: "
                f"{asked.asked[key]}."
                for key in status.risks
            )
    return (status.reason,)
