"""The acts on people and episodes: what they keep, and what the database refuses."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from clinic import admitting
from clinic.cases import treats
from clinic.models import AuditEvent, Episode, User
from clinic.versions import StaleEdit
from tests.factories import make_episode, make_patient

OPENED_ON = date(2026, 1, 5)


def last_event(action: str) -> AuditEvent:
    """Return the newest line of an action."""
    return AuditEvent.objects.filter(action=action).latest("pk")


def end(case: Episode, *, by: User, on: date) -> None:
    """Discharge a case."""
    admitting.discharge(
        case, by=by, on=on, reason="goals met", note="", version=case.version
    )


def test_a_patient_belongs_to_the_site_of_whoever_admits(clinician: User) -> None:
    """The site is never typed."""
    patient = make_patient(by=clinician)
    assert patient.site == clinician.site
    assert last_event("patient.admitted").patient == patient


def test_changing_a_person_keeps_before_and_after(clinician: User) -> None:
    """A corrected birth date stays traceable."""
    patient = make_patient(by=clinician, birth_date=date(1994, 5, 6))
    born = date(1994, 6, 5)
    admitting.change_patient(patient, by=clinician, changes={"birth_date": born})
    patient.refresh_from_db()
    assert patient.birth_date == born
    detail = last_event("patient.changed").detail
    assert detail["before"] == {"birth_date": "1994-05-06"}
    assert detail["after"] == {"birth_date": "1994-06-05"}


def test_one_knee_has_one_open_episode(clinician: User) -> None:
    """The database itself refuses the second."""
    case = make_episode(by=clinician, side="left")
    with pytest.raises(IntegrityError), transaction.atomic():
        make_episode(by=clinician, patient=case.patient, side="left")
    make_episode(by=clinician, patient=case.patient, side="right")
    assert case.patient.episodes.count() == 2


def test_a_recurrence_continues_the_earlier_episode(clinician: User) -> None:
    """The link is made by itself, to the last episode of the same knee."""
    first = make_episode(by=clinician, side="left", opened_on=OPENED_ON)
    end(first, by=clinician, on=OPENED_ON + timedelta(days=60))
    again = make_episode(
        by=clinician,
        patient=first.patient,
        side="left",
        opened_on=OPENED_ON + timedelta(days=200),
    )
    other = make_episode(by=clinician, patient=first.patient, side="right")
    assert again.continues == first
    assert other.continues is None


def test_a_changed_episode_keeps_before_and_after(clinician: User) -> None:
    """Who changed what stays on record."""
    case = make_episode(by=clinician, sport="rowing")
    admitting.change_episode(
        case, by=clinician, version=1, changes={"sport": "cycling"}
    )
    assert case.version == 2
    detail = last_event("episode.changed").detail
    assert detail["before"] == {"sport": "rowing"}
    assert detail["after"] == {"sport": "cycling"}


@pytest.mark.parametrize("act", ["change", "discharge", "hand over"])
def test_an_act_on_an_old_page_is_refused(
    clinician: User, colleague: User, act: str
) -> None:
    """The second of two people is told; the row stays as the first left it."""
    case = make_episode(by=clinician)
    admitting.change_episode(case, by=clinician, version=1, changes={"sport": "a"})
    with pytest.raises(StaleEdit):
        if act == "change":
            admitting.change_episode(
                case, by=clinician, version=1, changes={"sport": "b"}
            )
        elif act == "discharge":
            admitting.discharge(
                case,
                by=clinician,
                on=date(2026, 3, 1),
                reason="other",
                note="",
                version=1,
            )
        else:
            admitting.hand_over(
                case, by=clinician, to=colleague, reason="leave", version=1
            )
    case.refresh_from_db()
    assert (case.sport, case.is_open, case.clinician) == ("a", True, clinician)


def test_a_discharge_can_be_taken_back(clinician: User) -> None:
    """The case is in care again, and both acts are on record."""
    case = make_episode(by=clinician)
    end(case, by=clinician, on=OPENED_ON + timedelta(days=60))
    assert not case.is_open
    admitting.take_back_discharge(case, by=clinician, why="wrong case", version=2)
    case.refresh_from_db()
    assert case.is_open
    assert last_event("episode.reopened").detail["why"] == "wrong case"


def test_a_discharge_needs_a_reason(clinician: User) -> None:
    """The database refuses half a discharge."""
    case = make_episode(by=clinician)
    with pytest.raises(IntegrityError), transaction.atomic():
        admitting.discharge(
            case,
            by=clinician,
            on=date(2026, 3, 1),
            reason="",
            note="",
            version=1,
        )


def test_a_handed_over_case_changes_caseloads(
    clinician: User, colleague: User, today: date
) -> None:
    """The new clinician treats, the old one no longer does."""
    case = make_episode(by=clinician)
    admitting.hand_over(case, by=clinician, to=colleague, reason="leave", version=1)
    assert treats(colleague, case, on=today)
    assert not treats(clinician, case, on=today)
    listed = Episode.objects.for_user(colleague).on_caseload_of(colleague, today)
    assert list(listed) == [case]


@pytest.mark.parametrize(
    ("days", "does"), [(-1, False), (0, True), (5, True), (6, False)]
)
def test_cover_holds_from_the_first_to_the_last_day(
    clinician: User, colleague: User, today: date, days: int, does: bool
) -> None:
    """Both days are included."""
    case = make_episode(by=clinician)
    admitting.cover_case(
        case,
        by=clinician,
        covered_by=colleague,
        from_on=today,
        until_on=today + timedelta(days=5),
        reason="leave",
    )
    assert treats(colleague, case, on=today + timedelta(days=days)) is does


def test_ended_cover_covers_no_longer(
    clinician: User, colleague: User, today: date
) -> None:
    """It ends at once, before its last day."""
    case = make_episode(by=clinician)
    cover = admitting.cover_case(
        case,
        by=clinician,
        covered_by=colleague,
        from_on=today,
        until_on=today,
        reason="leave",
    )
    admitting.end_cover(cover, by=colleague)
    assert not treats(colleague, case, on=today)
    assert last_event("case.cover_ended").by == colleague


def test_a_contact_attempt_is_kept(clinician: User, today: date) -> None:
    """When, how, and what came of it."""
    case = make_episode(by=clinician)
    attempt: Any = admitting.log_contact(
        case, by=clinician, tried_on=today, way="call", result="no answer", note=""
    )
    assert list(case.contacts.all()) == [attempt]
    assert attempt.site == clinician.site
