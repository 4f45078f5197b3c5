"""Makers of test records, by the acts: tests build only what the app could build."""

from datetime import date, timedelta
from itertools import count
from typing import Any

from django.test import Client
from django.utils import timezone

from clinic.access import Role
from clinic.admitting import admit_patient, open_episode
from clinic.fresh import CONFIRMED_AT
from clinic.invitations import add_site
from clinic.models import Episode, Patient, Screen, Site, User, Visit
from clinic.screening import age_on, answer_screen
from clinic.screening import questions as red_flag_questions
from outcomes.letters.acts import draft_letter
from outcomes.models import Assessment, Letter, PhysicalResult
from outcomes.physical_recording import (
    PhysicalEntry,
    SideEntry,
    record_physical_test,
    units_of,
)
from outcomes.recording import FilledForm, VisitEntry, record_assessment, record_visit
from outcomes.science.measures import measure
from outcomes.science.physical_file import physical_tests
from outcomes.science.physical_tests import Trial
from programs.dosing.flow_questions import questions as flow_questions
from programs.models import AdverseEvent, FlowScreen, OtherCare
from programs.safety import record_other_care, report_event, sign_flow_screen

PASSPHRASE = "invented long passphrase"
_numbers = count(1)


def make_site(name: str = "") -> Site:
    """Make a site of an invented name."""
    return add_site(name or f"Invented clinic {next(_numbers)}")


def make_user(
    *, site: Site, role: str = Role.CLINICIAN, username: str = "", **names: str
) -> User:
    """Make a person who can sign in with PASSPHRASE."""
    username = username or f"person{next(_numbers)}"
    person = User(site=site, role=role, username=username, **names)
    person.set_password(PASSPHRASE)
    person.save()
    return person


def confirm_passphrase(client: Client) -> None:
    """Let the person in this browser have typed the passphrase again just now."""
    session = client.session
    session[CONFIRMED_AT] = timezone.now().timestamp()
    session.save()


def make_patient(*, by: User, **details: Any) -> Patient:
    """Admit an invented patient."""
    number = next(_numbers)
    defaults: dict[str, Any] = {
        "record_number": f"T{number:04}",
        "family_name": f"Inventson{number}",
        "given_name": "Ada",
        "birth_date": date(1994, 5, 6),
        "sex": "F",
    }
    return admit_patient(by=by, **{**defaults, **details})


def make_episode(
    *,
    by: User,
    patient: Patient | None = None,
    opened_on: date = date(2026, 1, 5),
    **details: Any,
) -> Episode:
    """Open an episode for the left knee of an invented patient."""
    defaults: dict[str, Any] = {
        "side": "left",
        "symptom_onset_on": opened_on - timedelta(days=120),
        "clinician": by,
    }
    return open_episode(
        patient=patient or make_patient(by=by),
        by=by,
        opened_on=opened_on,
        **{**defaults, **details},
    )


def make_screened_episode(
    *, by: User, opened_on: date = date(2026, 1, 5), **details: Any
) -> Episode:
    """Open an episode as admission does: the full screen asked, and no throughout."""
    episode = make_episode(by=by, opened_on=opened_on, **details)
    age = age_on(episode.patient.birth_date, opened_on)
    asked = red_flag_questions(Screen.Form.FULL, age=age)
    answer_screen(
        episode=episode,
        by=by,
        form=Screen.Form.FULL,
        answers={concern.key: False for concern in asked},
        on=opened_on,
    )
    return episode


def make_visit(
    *,
    episode: Episode,
    on: date,
    by: User | None = None,
    attendance: str = "attended",
    **entry: Any,
) -> Visit:
    """Log a visit."""
    return record_visit(
        episode=episode,
        by=by or episode.clinician,
        entry=VisitEntry(visited_on=on, attendance=attendance, **entry),
    )


def akps_answers(total: int) -> dict[str, str]:
    """Return AKPS answers that add up to a total (any of 0 to 100 but 1)."""
    reachable: dict[int, dict[str, str]] = {0: {}}
    for item in measure("akps").items:
        reachable = {
            points + int(option.points): {**answers, item.key: str(option.code)}
            for points, answers in reachable.items()
            for option in item.options
        }
    return reachable[total]


def make_akps(
    *, episode: Episode, on: date, total: int, by: User | None = None, **form: Any
) -> Assessment:
    """Record an AKPS of a given total."""
    filled = FilledForm(
        measure="akps", answers=akps_answers(total), **{"mode": "alone", **form}
    )
    return record_assessment(
        episode=episode, by=by or episode.clinician, form=filled, assessed_on=on
    )


def flow_answers(**answers: str) -> dict[str, str]:
    """Return a flow-restriction screen answered no throughout, but for some answers."""
    return {key: "no" for key in flow_questions().keys} | answers


def make_flow_screen(
    *, episode: Episode, on: date, by: User | None = None, **details: Any
) -> FlowScreen:
    """Sign a flow-restriction screen; every answer is no unless `answers` says so."""
    answers = flow_answers(**details.pop("answers", {}))
    return sign_flow_screen(
        episode=episode, by=by or episode.clinician, on=on, answers=answers, **details
    )


def make_event(
    *, episode: Episode, on: date, by: User | None = None, **details: Any
) -> AdverseEvent:
    """Report an invented adverse event."""
    defaults: dict[str, Any] = {
        "what": "Tingling in the foot (invented).",
        "done": "Cuff off, settled in a minute (invented).",
        "is_during_flow_restriction": True,
    }
    return report_event(
        episode=episode,
        by=by or episode.clinician,
        happened_on=on,
        **{**defaults, **details},
    )


def make_other_care(
    *, episode: Episode, on: date, by: User | None = None, **details: Any
) -> OtherCare:
    """Record invented care outside the programme."""
    defaults: dict[str, Any] = {"what": "injection", "words": "Invented injection."}
    return record_other_care(
        episode=episode,
        by=by or episode.clinician,
        began_on=on,
        **{**defaults, **details},
    )


def make_letter(
    *, episode: Episode, on: date, by: User | None = None, **details: Any
) -> Letter:
    """Draft a progress letter to an invented referrer."""
    defaults: dict[str, Any] = {
        "kind": Letter.Kind.PROGRESS,
        "addressed_to": "Dr Invented\n1 Made-up Road",
    }
    return draft_letter(
        episode, by=by or episode.clinician, on=on, **{**defaults, **details}
    )


def make_physical(
    *,
    episode: Episode,
    on: date,
    test: str = "hip_abductor",
    by: User | None = None,
    sides: dict[str, tuple[float, ...]] | None = None,
    **entry: Any,
) -> list[PhysicalResult]:
    """Record a physical test; by default three pushes of each side in N."""
    given = (
        {"left": (200, 210, 190), "right": (250, 240, 260)} if sides is None else sides
    )
    return record_physical_test(
        episode=episode,
        by=by or episode.clinician,
        entry=PhysicalEntry(
            test=test,
            tested_on=on,
            unit=entry.pop("unit", units_of(physical_tests()[test])[0]),
            sides=tuple(
                SideEntry(side=side, trials=tuple(map(Trial, values)))
                for side, values in given.items()
            ),
            **entry,
        ),
    )
