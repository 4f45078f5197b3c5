"""Withdrawing an ended programme or a template that was made by mistake."""

import uuid
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from clinic.admitting import discharge
from clinic.models import AuditEvent, Episode, User
from programs import audit
from programs.copying import save_as_template
from programs.models import Programme
from programs.planning import end_programme
from tests.factories import make_episode

from .plans import make_line, make_programme

pytestmark = pytest.mark.usefixtures("clock")


@pytest.fixture
def case(clinician: User) -> Episode:
    """The clinician's case."""
    return make_episode(by=clinician)


@pytest.fixture
def ended(case: Episode, today: date) -> Programme:
    """A programme with one line that has ended."""
    made = make_programme(case, on=today - timedelta(days=42))
    make_line(made, on=made.starts_on)
    end_programme(made, by=case.clinician, on=today, why="x", version=made.version)
    return made


@pytest.fixture
def template(ended: Programme, clinician: User) -> Programme:
    """A template that the clinician made."""
    return save_as_template(ended, by=clinician, title="Invented template")


def path_of(programme: Programme) -> str:
    """Return the address of the page."""
    return reverse("programs:void_programme", args=[programme.pk])


def sent(programme: Programme, **changes: str) -> dict[str, str]:
    """Return the form as it is sent."""
    return {
        "form_key": str(uuid.uuid4()),
        "version": str(programme.version),
        "why": "Entered for the wrong knee (invented).",
        **changes,
    }


def page(client: Client, path: str) -> str:
    """Return the text of a page, white space evened."""
    return " ".join(client.get(path).content.decode().split())


def test_an_ended_programme_is_withdrawn_with_its_lines(
    ended: Programme, clinician: User, signed_in: Callable[[User], Client]
) -> None:
    """It stays on record, with who and why, and can no longer be copied."""
    client = signed_in(clinician)
    assert "1 line" in page(client, path_of(ended))
    answer = client.post(path_of(ended), sent(ended))
    shown = reverse("programs:programme", args=[ended.episode_id])
    assert answer.url == shown
    ended.refresh_from_db()
    assert (ended.voided_by, ended.is_standing) == (clinician, False)
    line = ended.phases.get().prescriptions.get()
    assert line.void_reason == "Entered for the wrong knee (invented)."
    act = AuditEvent.objects.get(action=audit.PROGRAMME_VOIDED.code)
    assert act.detail["programme"] == ended.pk
    assert "Entered for the wrong knee (invented)." in page(client, shown)
    again = reverse("programs:new_programme", args=[ended.episode_id])
    assert ended.title not in page(client, again)


def test_of_a_discharged_case_too(
    ended: Programme, today: date, signed_in: Callable[[User], Client]
) -> None:
    """A mistake can be found after the end of care."""
    case = Episode.objects.get(pk=ended.episode_id)
    discharge(
        case,
        by=case.clinician,
        on=today,
        reason="goals met",
        note="",
        version=case.version,
    )
    client = signed_in(case.clinician)
    assert client.post(path_of(ended), sent(ended)).status_code == 302
    ended.refresh_from_db()
    assert ended.voided_at


def test_it_is_withdrawn_once_and_never_unseen(
    ended: Programme, clinician: User, signed_in: Callable[[User], Client]
) -> None:
    """A second tap changes nothing; an old page, or no reason, withdraws nothing."""
    client, form = signed_in(clinician), sent(ended)
    assert client.post(path_of(ended), sent(ended, version="0")).status_code == 409
    assert client.post(path_of(ended), sent(ended, why=" ")).status_code == 422
    ended.refresh_from_db()
    assert ended.is_standing
    first, second = (client.post(path_of(ended), form) for _ in range(2))
    assert first.url == second.url
    assert AuditEvent.objects.filter(action=audit.PROGRAMME_VOIDED.code).count() == 1
    assert client.get(path_of(ended)).status_code == 302


def test_a_template_is_withdrawn_by_its_maker_and_by_the_lead(
    template: Programme,
    case: Episode,
    clinician: User,
    colleague: User,
    lead: User,
    stranger: User,
    signed_in: Callable[[User], Client],
) -> None:
    """A colleague copies it and does not take it away; another site has none."""
    assert signed_in(colleague).get(path_of(template)).status_code == 403
    assert signed_in(colleague).post(path_of(template), {}).status_code == 403
    assert signed_in(stranger).get(path_of(template)).status_code == 404
    for person in (clinician, lead):
        assert signed_in(person).get(path_of(template)).status_code == 200
    answer = signed_in(lead).post(path_of(template), sent(template, case=str(case.pk)))
    listed = reverse("programs:new_programme", args=[case.pk])
    assert answer.url == listed
    template.refresh_from_db()
    assert template.voided_by == lead
    assert template.title not in page(signed_in(clinician), listed)


def test_the_way_back_leads_to_ones_own_site_only(
    template: Programme, clinician: User, stranger: User, signed_in: Any
) -> None:
    """A case of another site, or nonsense, leads to the library."""
    foreign = make_episode(by=stranger)
    for typed in (str(foreign.pk), "x", ""):
        shown = signed_in(clinician).get(path_of(template), {"case": typed})
        assert shown.context["back"] == reverse("programs:exercises")


def test_lists_lead_there_for_those_who_may(
    ended: Programme,
    template: Programme,
    case: Episode,
    clinician: User,
    colleague: User,
    signed_in: Callable[[User], Client],
) -> None:
    """The earlier programmes of a case, and the templates where one is begun."""
    shown = reverse("programs:programme", args=[case.pk])
    assert path_of(ended) in page(signed_in(clinician), shown)
    assert path_of(ended) not in page(signed_in(colleague), shown)
    begun = reverse("programs:new_programme", args=[case.pk])
    assert f"{path_of(template)}?case={case.pk}" in page(signed_in(clinician), begun)
    theirs = make_episode(by=colleague)
    begun = reverse("programs:new_programme", args=[theirs.pk])
    assert template.title in page(signed_in(colleague), begun)
    assert path_of(template) not in page(signed_in(colleague), begun)
