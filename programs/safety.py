"""Acts on safety: sign a flow-restriction screen, report an event, note other care."""

from collections.abc import Mapping
from datetime import date

from django.db import transaction

from clinic.models import AuditEvent, Episode, User
from clinic.voiding import void_on_record

from . import audit
from .dosing.flow_questions import questions
from .dosing.flow_screen import Clearance
from .flow_answers import ScreenRefused, problems, stops_of
from .models import AdverseEvent, FlowScreen, OtherCare, Prescription


@transaction.atomic
def sign_flow_screen(
    *,
    episode: Episode,
    by: User,
    on: date,
    answers: Mapping[str, str],
    decision: str = "",
    clearance: Clearance | None = None,
) -> FlowScreen:
    """Keep an answered screen under the clinician's name; a refusal is kept as well.

    Raises ScreenRefused where a question is open, or where a contraindication that
    stopped this case earlier is lifted by anything but a physician's clearance.
    """
    # Two screens of one case at once: the second one sees the first one's stop.
    Episode.objects.select_for_update().get(pk=episode.pk)
    stops = stops_of(episode)
    if found := problems(answers, clearance=clearance, on=on, stops=stops):
        raise ScreenRefused(found)
    screen = FlowScreen.objects.create(
        site_id=episode.site_id,
        episode=episode,
        edition=questions().edition,
        answered_on=on,
        answers=dict(answers),
        decision=decision.strip(),
        signed_by=by,
        **_clearance_columns(clearance),
    )
    AuditEvent.objects.record(
        audit.FLOW_SCREEN_SIGNED,
        by=by,
        patient=episode.patient,
        screen=screen.pk,
        on=on.isoformat(),
        answers=screen.answers,
        decision=screen.decision,
        physician=screen.physician,
    )
    return screen


def _clearance_columns(clearance: Clearance | None) -> dict[str, object]:
    if clearance is None:
        return {}
    return {
        "physician": clearance.physician.strip(),
        "physician_answer": clearance.answer.strip(),
        "physician_answered_on": clearance.answered_on,
        "stopped_on": clearance.stopped_on,
    }


@transaction.atomic
def void_flow_screen(screen: FlowScreen, *, by: User, why: str) -> None:
    """Withdraw a screen that was answered by mistake; the one before counts again."""
    void_on_record(
        screen, by=by, why=why, action=audit.FLOW_SCREEN_VOIDED, episode=screen.episode
    )


@transaction.atomic
def report_event(
    *,
    episode: Episode,
    by: User,
    happened_on: date,
    what: str,
    done: str,
    is_during_flow_restriction: bool,
    prescription: Prescription | None = None,
) -> AdverseEvent:
    """Keep what went wrong; a flow-restriction screen signed before no longer holds."""
    event = AdverseEvent.objects.create(
        site_id=episode.site_id,
        episode=episode,
        prescription=prescription,
        happened_on=happened_on,
        is_during_flow_restriction=is_during_flow_restriction,
        what=what,
        done=done,
        reported_by=by,
    )
    AuditEvent.objects.record(
        audit.EVENT_REPORTED,
        by=by,
        patient=episode.patient,
        event=event.pk,
        happened_on=happened_on.isoformat(),
        is_during_flow_restriction=is_during_flow_restriction,
    )
    return event


@transaction.atomic
def void_event(event: AdverseEvent, *, by: User, why: str) -> None:
    """Withdraw an event that was reported by mistake; it ends no screen then."""
    void_on_record(
        event, by=by, why=why, action=audit.EVENT_VOIDED, episode=event.episode
    )


@transaction.atomic
def record_other_care(
    *,
    episode: Episode,
    by: User,
    what: str,
    began_on: date,
    words: str,
    ended_on: date | None = None,
) -> OtherCare:
    """Keep care outside the programme that can move the numbers."""
    care = OtherCare.objects.create(
        site_id=episode.site_id,
        episode=episode,
        what=what,
        began_on=began_on,
        ended_on=ended_on,
        words=words,
        recorded_by=by,
    )
    AuditEvent.objects.record(
        audit.OTHER_CARE_RECORDED,
        by=by,
        patient=episode.patient,
        care=care.pk,
        what=what,
        began_on=began_on.isoformat(),
    )
    return care


@transaction.atomic
def end_other_care(care: OtherCare, *, by: User, on: date) -> None:
    """Keep the last day of other care, and the one that it replaces on record."""
    before = care.ended_on.isoformat() if care.ended_on else ""
    care.ended_on = on
    care.save(update_fields=["ended_on"])
    AuditEvent.objects.record(
        audit.OTHER_CARE_ENDED,
        by=by,
        patient=care.episode.patient,
        care=care.pk,
        before=before,
        after=on.isoformat(),
    )


@transaction.atomic
def void_other_care(care: OtherCare, *, by: User, why: str) -> None:
    """Withdraw other care that was noted by mistake."""
    void_on_record(
        care, by=by, why=why, action=audit.OTHER_CARE_VOIDED, episode=care.episode
    )
