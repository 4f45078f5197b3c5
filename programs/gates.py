"""What must be open before anything is suggested or a cuff is prescribed."""

from datetime import date

from clinic.models import Episode, Screen, Site

from .dosing.flow_screen import Clearance, ScreenFacts, ScreenStatus, screen_status
from .dosing.limits import DosingPolicy
from .dosing.response import Gates
from .models import AdverseEvent, FlowScreen, SiteDosing


def stored_dosing(site: Site) -> SiteDosing | None:
    """Return the row of a site that changed something; runs one query."""
    return SiteDosing.objects.filter(site=site).first()


def dosing_for(site: Site) -> DosingPolicy:
    """Return the dosing numbers in force at a site; runs one query."""
    stored = stored_dosing(site)
    return DosingPolicy.from_values(stored.values) if stored else DosingPolicy()


def is_advice_on(site: Site) -> bool:
    """Tell whether the site shows suggestions; runs one query."""
    stored = stored_dosing(site)
    return stored is None or stored.is_advice_on


def gates_for(episode: Episode, *, on: date, is_flow_restricted: bool) -> Gates:
    """Return the gates of a case; the flow screen only where it is used."""
    status = flow_status(episode, on=on) if is_flow_restricted else None
    return Gates(
        is_advice_on=is_advice_on(episode.site),
        is_red_flag_undecided=is_red_flag_undecided(episode),
        flow_screen=status,
    )


def is_red_flag_undecided(episode: Episode) -> bool:
    """Tell whether a yes of this person, in either knee's case, awaits a decision."""
    screens = Screen.objects.standing().filter(
        episode__patient_id=episode.patient_id,
        episode__voided_at__isnull=True,
        is_positive=True,
        decided_at__isnull=True,
    )
    return screens.exists()


def flow_status(episode: Episode, *, on: date) -> ScreenStatus:
    """Judge the newest flow-restriction screen of this episode; Clear alone allows."""
    screen = newest_screen(episode)
    return screen_status(
        facts_of(screen) if screen else None,
        on=on,
        last_adverse_event_on=_last_event_on(episode, screen),
        policy=dosing_for(episode.site),
    )


def newest_screen(episode: Episode) -> FlowScreen | None:
    """Return the newest standing screen of this episode; of one day, the last signed.

    An earlier screen never counts again: not even when the newest one is a refusal.
    """
    screens = FlowScreen.objects.standing().filter(episode=episode)
    return screens.order_by("-answered_on", "-signed_at", "-pk").first()


def facts_of(screen: FlowScreen) -> ScreenFacts:
    """Return a stored screen as the rules read it."""
    return ScreenFacts(
        answered_on=screen.answered_on,
        edition=screen.edition,
        answers=screen.answers,
        is_signed=screen.signed_by_id is not None,
        decision=screen.decision,
        clearance=_clearance(screen),
    )


def _clearance(screen: FlowScreen) -> Clearance | None:
    answered_on, stopped_on = screen.physician_answered_on, screen.stopped_on
    if answered_on is None or stopped_on is None:
        return None
    return Clearance(screen.physician, screen.physician_answer, answered_on, stopped_on)


def _last_event_on(episode: Episode, screen: FlowScreen | None) -> date | None:
    """Return the day of the last standing event of this episode.

    An event that was told after the screen was signed counts as after the screen,
    whenever it happened: the answers were given without it.
    """
    events = AdverseEvent.objects.standing().filter(episode=episode)
    days = [
        max(happened_on, screen.answered_on)
        if screen and recorded_at > screen.signed_at
        else happened_on
        for happened_on, recorded_at in events.values_list("happened_on", "recorded_at")
    ]
    return max(days, default=None)
