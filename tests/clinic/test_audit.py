"""The audit trail: append-only, complete, and inside the act that it describes."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.db import DatabaseError, transaction

from clinic import admitting, audit, invitations, leaving, screening, sharing
from clinic.access import Role
from clinic.audit import ACTIONS, Action
from clinic.models import (
    AuditEvent,
    ContactAttempt,
    Cover,
    Episode,
    Patient,
    Screen,
    Site,
    User,
)
from outcomes import voiding
from outcomes.policies import change_policy
from tests.factories import (
    make_akps,
    make_episode,
    make_patient,
    make_user,
    make_visit,
)

ON = date(2026, 3, 2)


@pytest.fixture
def line(clinician: User) -> AuditEvent:
    """One line of the trail."""
    return AuditEvent.objects.record(audit.SIGNED_IN, by=clinician)


# The trigger; the suite runs on SQLite and on PostgreSQL.


def test_a_line_cannot_be_changed(line: AuditEvent) -> None:
    """Not through the model, not through a query."""
    for change in (line.save, lambda: AuditEvent.objects.update(action="other")):
        with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
            change()
    line.refresh_from_db()
    assert line.action == "session.signed_in"


def test_a_line_cannot_be_removed(line: AuditEvent) -> None:
    """Not through the model, not through a query."""
    for removal in (line.delete, AuditEvent.objects.all().delete):
        with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
            removal()
    assert AuditEvent.objects.filter(action="session.signed_in").count() == 1


# Codes


def test_codes_are_declared_once() -> None:
    """Two meanings never share a code."""
    with pytest.raises(ValueError, match="exists already"):
        Action("episode.opened", "opened it again")


def test_only_declared_codes_are_on_record(clinician: User) -> None:
    """A typed word is refused: only an Action can be recorded."""
    with pytest.raises(AttributeError):
        AuditEvent.objects.record("episode.opened", by=clinician)
    assert not AuditEvent.objects.filter(action="episode.opened").exists()


def test_every_code_has_a_sentence() -> None:
    """A trail is read by people."""
    for code, action in ACTIONS.items():
        assert action.code == code
        assert action.sentence
        assert "." in code


def test_the_name_is_frozen(clinician: User) -> None:
    """A line shows who the person was on the day."""
    line = AuditEvent.objects.record(audit.SIGNED_IN, by=clinician)
    name = str(clinician)
    clinician.first_name = "Renamed"
    clinician.save()
    line.refresh_from_db()
    assert line.by_name == name


# Acts: each makes one thing and one line, or neither.

Act = tuple[str, Callable[[], Any], Callable[[], Any]]


def admit(by: User) -> Act:
    """Add a person."""
    return ("patient.admitted", lambda: make_patient(by=by), Patient.objects.count)


def open_(by: User) -> Act:
    """Open an episode."""
    patient = make_patient(by=by)
    return (
        "episode.opened",
        lambda: make_episode(by=by, patient=patient),
        Episode.objects.count,
    )


def cover(by: User) -> Act:
    """Arrange cover."""
    case = make_episode(by=by)

    def act() -> Cover:
        return admitting.cover_case(
            case, by=by, covered_by=by, from_on=ON, until_on=ON, reason="x"
        )

    return "case.covered", act, Cover.objects.count


def contact(by: User) -> Act:
    """Log a contact attempt."""
    case = make_episode(by=by)

    def act() -> ContactAttempt:
        return admitting.log_contact(
            case, by=by, tried_on=ON, way="call", result="reached", note=""
        )

    return "contact.logged", act, ContactAttempt.objects.count


def discharge(by: User) -> Act:
    """End an episode."""
    case = make_episode(by=by)

    def act() -> None:
        admitting.discharge(case, by=by, on=ON, reason="other", note="", version=1)

    return "episode.discharged", act, Episode.objects.open().count


def change_person(by: User) -> Act:
    """Change a person's details."""
    patient = make_patient(by=by)

    def act() -> Patient:
        return admitting.change_patient(patient, by=by, changes={"sex": "X"})

    return "patient.changed", act, Patient.objects.filter(sex="X").count


def decline(by: User) -> Act:
    """Keep that a person declines the use of their data for audit."""
    patient = make_patient(by=by)

    def act() -> None:
        sharing.decline_audit(patient, by=by, on=ON, how="in person")

    declined = Patient.objects.filter(audit_declined_on__isnull=False)
    return "patient.audit_declined", act, declined.count


def change_case(by: User) -> Act:
    """Change an episode."""
    case = make_episode(by=by)

    def act() -> Episode:
        return admitting.change_episode(
            case, by=by, version=1, changes={"sport": "rowing"}
        )

    return "episode.changed", act, Episode.objects.filter(sport="rowing").count


def screen(by: User) -> Act:
    """Answer a screen."""
    case = make_episode(by=by)

    def act() -> Screen:
        return screening.answer_screen(
            episode=case, by=by, form="full", answers={"septic": False}, on=ON
        )

    return "screen.answered", act, Screen.objects.count


def visit(by: User) -> Act:
    """Log a visit."""
    case = make_episode(by=by)
    return (
        "visit.recorded",
        lambda: make_visit(episode=case, on=ON),
        case.visits.count,
    )


def assessment(by: User) -> Act:
    """Record a questionnaire."""
    case = make_episode(by=by)
    return (
        "assessment.recorded",
        lambda: make_akps(episode=case, on=ON, total=70),
        case.assessments.count,
    )


def void_episode(by: User) -> Act:
    """Void an episode."""
    case = make_episode(by=by)

    def act() -> None:
        voiding.void_episode(case, by=by, why="wrong person", version=1)

    return "episode.voided", act, Episode.objects.standing().count


def invite(by: User) -> Act:
    """Invite a person."""

    def act() -> User:
        return invitations.add_person(
            site=by.site, username="l.ivers", role=Role.CLINICIAN, by=by
        )

    return "person.invited", act, User.objects.count


def deactivate(by: User) -> Act:
    """Deactivate a person."""
    person = make_user(site=by.site)

    def act() -> None:
        leaving.deactivate(person, by=by, reason="left the clinic")

    return "person.deactivated", act, User.objects.filter(is_active=True).count


def add_site(by: User) -> Act:
    """Add a site."""
    return (
        "site.added",
        lambda: invitations.add_site("Invented Lake Clinic", by=by),
        Site.objects.count,
    )


def policy(by: User) -> Act:
    """Change the policy."""

    def act() -> Any:
        return change_policy(site=by.site, by=by, values={"overdue_days": 9}, version=0)

    return "policy.changed", act, Site.objects.filter(policy__isnull=False).count


ACTS = [
    admit,
    open_,
    cover,
    contact,
    discharge,
    change_person,
    decline,
    change_case,
    screen,
    visit,
    assessment,
    void_episode,
    invite,
    deactivate,
    add_site,
    policy,
]


@pytest.mark.parametrize("make", ACTS)
def test_an_act_writes_one_line(make: Callable[[User], Act], lead: User) -> None:
    """Exactly one, with who did it."""
    code, act, _ = make(lead)
    before = AuditEvent.objects.count()
    act()
    assert AuditEvent.objects.count() == before + 1
    line = AuditEvent.objects.latest("pk")
    assert (line.action, line.by, line.site) == (code, lead, lead.site)


@pytest.mark.parametrize("make", ACTS)
def test_an_act_without_its_line_does_not_happen(
    make: Callable[[User], Act], lead: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the trail cannot be written, nothing is changed."""
    _, act, state = make(lead)
    before = state()

    def refuse(*args: Any, **kwargs: Any) -> None:
        raise RuntimeError("the trail is full")

    with monkeypatch.context() as patch:
        patch.setattr("clinic.models.record.AuditQuerySet.create", refuse)
        with pytest.raises(RuntimeError, match="the trail is full"):
            act()
    assert state() == before
    act()
    assert state() != before
