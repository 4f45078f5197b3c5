"""What the safety pages list of a case: screens, events, other care."""

from dataclasses import dataclass
from datetime import date

from clinic.models import Episode
from clinic.sourced.sources import Source

from .dosing.flow_questions import Questions, questions
from .dosing.flow_screen import Answer
from .flow_answers import stopping
from .lines import name_of
from .models import AdverseEvent, FlowScreen, OtherCare


@dataclass(frozen=True, slots=True)
class ScreenLine:
    """One screen of the list: what it answered yes, what it marked as cleared."""

    screen: FlowScreen
    stopped_by: tuple[str, ...]
    cleared: tuple[str, ...]
    risks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class EventLine:
    """One adverse event of the list, with the exercise that it happened in."""

    event: AdverseEvent
    exercise: str


def screens_of(case: Episode) -> list[ScreenLine]:
    """Return the screens of a case, voided ones with them, newest first."""
    asked = questions()
    screens = FlowScreen.objects.filter(episode=case).select_related(
        "signed_by", "voided_by"
    )
    return [
        ScreenLine(
            screen,
            tuple(each.ask for each in asked.contraindications if each.key in stops),
            _answered(screen, Answer.CLEARED),
            tuple(
                each.ask
                for each in asked.risks
                if screen.answers.get(each.key) == Answer.YES
            ),
        )
        for screen in screens.order_by("-answered_on", "-pk")
        for stops in (stopping(screen),)
    ]


def _answered(screen: FlowScreen, answer: str) -> tuple[str, ...]:
    asked = questions().asked
    return tuple(asked[key] for key in asked if screen.answers.get(key) == answer)


def sources_of(asked: Questions) -> tuple[Source, ...]:
    """Return what the questions and stop signs rest on, each source once."""
    found = [item.source for item in asked.contraindications]
    found += [item.source for item in asked.risks]
    found += [item.source for item in asked.stop_signs]
    return tuple(dict.fromkeys(found))


def yes_elsewhere(case: Episode) -> dict[str, date]:
    """Return what this person answered yes in other cases, with the last day of it."""
    others = FlowScreen.objects.standing().filter(
        episode__patient_id=case.patient_id, episode__voided_at__isnull=True
    )
    found: dict[str, date] = {}
    for screen in others.exclude(episode=case).order_by("answered_on"):
        found |= dict.fromkeys(stopping(screen), screen.answered_on)
    return found


def events_of(case: Episode) -> list[EventLine]:
    """Return the events of a case, voided ones with them, newest first."""
    events = AdverseEvent.objects.filter(episode=case).select_related(
        "reported_by", "voided_by", "prescription__clinic_exercise"
    )
    return [
        EventLine(event, name_of(event.prescription) if event.prescription else "")
        for event in events.order_by("-happened_on", "-pk")
    ]


def other_care_of(case: Episode) -> list[OtherCare]:
    """Return other care of a case, voided entries with it, newest first."""
    rows = OtherCare.objects.filter(episode=case)
    return list(
        rows.select_related("recorded_by", "voided_by").order_by("-began_on", "-pk")
    )
