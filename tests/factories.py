"""Makers of test records; they call the acts, so tests cannot build what the app could not."""

from datetime import date, timedelta
from itertools import count
from typing import Any

from clinic.access import Role
from clinic.admitting import admit_patient, open_episode
from clinic.invitations import add_site
from clinic.models import Episode, Patient, Site, User, Visit
from outcomes.models import Assessment
from outcomes.recording import FilledForm, VisitEntry, record_assessment, record_visit
from outcomes.science.measures import measure

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
