"""The people of a site: invite, let in, keep out; the first and further sites."""

import uuid
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.test import Client

from clinic.access import Role
from clinic.invitations import add_person
from clinic.leaving import LastLead, deactivate
from clinic.models import AuditEvent, Episode, Site, User
from clinic.screening import answer_screen, questions
from clinic.set_up import set_up_code
from tests.factories import make_episode, make_user


def invitation(**changes: str) -> dict[str, str]:
    """Return a filled invitation."""
    filled = {
        "first_name": "Ida",
        "last_name": "Fennick",
        "username": "i.fennick",
        "role": "clinician",
        "form_key": str(uuid.uuid4()),
    }
    return {**filled, **changes}


def leaving(**changes: Any) -> dict[str, Any]:
    """Return a filled form of a deactivation."""
    filled = {"reason": "Left the clinic.", "form_key": str(uuid.uuid4())}
    return {**filled, **changes}


def test_a_lead_invites_a_person_and_sees_the_link_once(
    lead: User, signed_in: Any
) -> None:
    """The link is on the answer alone; the list does not show it again."""
    client = signed_in(lead)
    answer = client.post("/people/", invitation())
    person = User.objects.get(username="i.fennick")
    assert person.site == lead.site
    assert not person.has_usable_password()
    link = answer.context["one_time_url"]
    assert link in answer.content.decode()
    assert "/first-sign-in/" not in client.get("/people/").content.decode()
    assert AuditEvent.objects.filter(action="person.invited").count() == 1


def test_a_double_tap_invites_once(lead: User, signed_in: Any) -> None:
    """The second tap leads to the list instead of complaining of the name."""
    client, filled = signed_in(lead), invitation()
    client.post("/people/", filled)
    assert client.post("/people/", filled).url == "/people/"
    assert User.objects.filter(username="i.fennick").count() == 1


def test_a_taken_user_name_is_refused(
    lead: User, clinician: User, signed_in: Any
) -> None:
    """The form comes back with what was typed."""
    filled = invitation(username=clinician.username)
    answer = signed_in(lead).post("/people/", filled)
    assert answer.status_code == 422
    assert "This user name is taken" in answer.content.decode()
    assert 'value="Fennick"' in answer.content.decode()


def test_a_lead_cannot_make_an_administrator(lead: User, signed_in: Any) -> None:
    """Nobody gives a role that stands above their own."""
    answer = signed_in(lead).post("/people/", invitation(role="administrator"))
    assert answer.status_code == 422
    assert not User.objects.filter(username="i.fennick").exists()


@pytest.mark.parametrize("act", ["one-time", "deactivate"])
def test_a_lead_cannot_touch_an_administrator(
    lead: User, administrator: User, signed_in: Any, act: str
) -> None:
    """Neither their sign-in nor their place."""
    path = f"/people/{administrator.pk}/{act}/"
    assert signed_in(lead).post(path).status_code == 404
    administrator.refresh_from_db()
    assert administrator.is_active
    assert administrator.has_usable_password()


@pytest.mark.parametrize("act", ["one-time", "deactivate"])
def test_nobody_touches_themselves_or_another_site(
    lead: User, stranger: User, signed_in: Any, act: str
) -> None:
    """A lead cannot lock themselves out, nor reach over to another clinic."""
    for person in (lead, stranger):
        path = f"/people/{person.pk}/{act}/"
        assert signed_in(lead).post(path).status_code == 404
        assert User.objects.get(pk=person.pk).is_active


def test_a_deactivated_person_is_out_at_the_next_request(
    lead: User, clinician: User, signed_in: Any
) -> None:
    """A live session ends, and comes back only with a new sign-in."""
    theirs, mine = signed_in(clinician), signed_in(lead)
    assert theirs.get("/").status_code == 200
    mine.post(f"/people/{clinician.pk}/deactivate/", leaving())
    assert theirs.get("/").status_code == 302
    mine.post(f"/people/{clinician.pk}/let-back-in/")
    clinician.refresh_from_db()
    assert clinician.is_active
    actions = AuditEvent.objects.filter(action__startswith="person.")
    assert [event.action for event in actions.order_by("pk")] == [
        "person.deactivated",
        "person.reactivated",
    ]


@pytest.fixture
def caseload(clinician: User, today: date) -> list[Episode]:
    """Two open cases, one with a red-flag answer that nobody decided on."""
    cases = [make_episode(by=clinician) for _ in range(2)]
    answers = {one.key: False for one in questions("short", age=32)}
    answers[next(iter(answers))] = True
    answer_screen(
        episode=cases[0], by=clinician, on=today, form="short", answers=answers
    )
    return cases


def test_before_a_deactivation_it_is_said_what_is_left_behind(
    lead: User, clinician: User, caseload: list[Episode], signed_in: Any
) -> None:
    """Cases and red flags are counted; looking changes nothing; nothing is preset."""
    page = signed_in(lead).get(f"/people/{clinician.pk}/deactivate/")
    text = " ".join(page.content.decode().split())
    assert "<dt>Open cases</dt><dd>2</dd>" in text
    assert "<dt>Red-flag answers without a decision</dt><dd>1</dd>" in text
    assert " checked" not in text
    clinician.refresh_from_db()
    assert clinician.is_active


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({}, "Choose one of these."),
        ({"cases": "hand over"}, "Choose who takes the cases."),
        ({"cases": "leave", "reason": ""}, "Fill this in."),
    ],
)
def test_a_deactivation_needs_a_reason_and_a_choice_for_the_cases(
    lead: User,
    clinician: User,
    caseload: list[Episode],
    signed_in: Any,
    changes: dict[str, str],
    sentence: str,
) -> None:
    """Nobody goes, and nothing moves, before it is decided."""
    path = f"/people/{clinician.pk}/deactivate/"
    answer = signed_in(lead).post(path, leaving(**changes))
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    clinician.refresh_from_db()
    assert clinician.is_active


def test_all_cases_are_handed_over_each_on_record(
    lead: User,
    clinician: User,
    colleague: User,
    caseload: list[Episode],
    signed_in: Any,
) -> None:
    """In the same step, all at once; a second tap changes nothing."""
    path = f"/people/{clinician.pk}/deactivate/"
    sent = leaving(cases="hand over", to=colleague.pk)
    client = signed_in(lead)
    for _ in range(2):
        assert client.post(path, sent).url == "/people/"
    clinician.refresh_from_db()
    assert not clinician.is_active
    assert Episode.objects.filter(clinician=colleague).count() == 2
    lines = AuditEvent.objects.filter(action="case.transferred")
    assert {line.detail["episode"] for line in lines} == {c.pk for c in caseload}
    assert {line.detail["reason"] for line in lines} == {"Left the clinic."}
    assert AuditEvent.objects.get(action="person.deactivated").detail == {
        "person": clinician.username,
        "reason": "Left the clinic.",
        "cases_handed_over": 2,
    }


def test_cases_stay_where_they_are_and_say_so(
    lead: User, clinician: User, caseload: list[Episode], signed_in: Any
) -> None:
    """The case page and the caseload name who no longer signs in."""
    client = signed_in(lead)
    client.post(f"/people/{clinician.pk}/deactivate/", leaving(cases="leave"))
    assert Episode.objects.filter(clinician=clinician).count() == 2
    said = f"{clinician} (no longer signs in)"
    for path in (caseload[1].get_absolute_url(), "/?whose=everyone"):
        assert said in client.get(path).content.decode(), path


def test_cases_go_to_nobody_who_left_or_is_elsewhere(
    lead: User,
    clinician: User,
    colleague: User,
    administrator: User,
    stranger: User,
    caseload: list[Episode],
    signed_in: Any,
) -> None:
    """Only to people of the site who treat and sign in."""
    User.objects.filter(pk=colleague.pk).update(is_active=False)
    path = f"/people/{clinician.pk}/deactivate/"
    for person in (colleague, administrator, stranger, clinician):
        sent = leaving(cases="hand over", to=person.pk)
        assert signed_in(lead).post(path, sent).status_code == 422, person
    assert Episode.objects.filter(clinician=clinician).count() == 2


def test_the_last_lead_stays(lead: User, administrator: User, signed_in: Any) -> None:
    """A clinic without a lead could not be led back; a second lead frees the first."""
    client, path = signed_in(administrator), f"/people/{lead.pk}/deactivate/"
    answer = client.post(path, leaving(), follow=True)
    assert "the only clinic lead who signs in" in answer.content.decode()
    lead.refresh_from_db()
    assert lead.is_active
    with pytest.raises(LastLead):
        deactivate(lead, by=administrator, reason="Left.")
    make_user(site=lead.site, role=Role.LEAD)
    client.post(path, leaving())
    lead.refresh_from_db()
    assert not lead.is_active


def test_a_new_one_time_sign_in_ends_the_old_passphrase(
    lead: User, clinician: User, signed_in: Any
) -> None:
    """Live sessions end too: the passphrase may have been seen."""
    theirs = signed_in(clinician)
    answer = signed_in(lead).post(f"/people/{clinician.pk}/one-time/")
    assert "/first-sign-in/" in answer.context["one_time_url"]
    assert theirs.get("/").status_code == 302
    clinician.refresh_from_db()
    assert not clinician.has_usable_password()


def test_the_deactivated_get_no_one_time_sign_in(
    lead: User, clinician: User, signed_in: Any
) -> None:
    """A link that opens nothing is not handed out."""
    User.objects.filter(pk=clinician.pk).update(is_active=False)
    answer = signed_in(lead).post(f"/people/{clinician.pk}/one-time/", follow=True)
    assert "Let them back in first" in answer.content.decode()


def test_the_list_shows_this_site_only(
    lead: User, clinician: User, stranger: User, signed_in: Any
) -> None:
    """People of another clinic are not named."""
    text = signed_in(lead).get("/people/").content.decode()
    assert clinician.username in text
    assert stranger.username not in text


# Sites


def test_an_administrator_adds_a_site_with_its_first_person(
    administrator: User, signed_in: Any
) -> None:
    """The first person of the new site gets a one-time sign-in."""
    filled = invitation(name="Invented Lake Clinic", role="lead")
    answer = signed_in(administrator).post("/sites/new/", filled)
    person = User.objects.get(username="i.fennick")
    assert person.site.name == "Invented Lake Clinic"
    assert "/first-sign-in/" in answer.context["one_time_url"]


def test_a_site_without_a_first_person_is_not_made(
    administrator: User, clinician: User, signed_in: Any
) -> None:
    """All or nothing."""
    filled = invitation(
        name="Invented Lake Clinic", role="lead", username=clinician.username
    )
    assert signed_in(administrator).post("/sites/new/", filled).status_code == 422
    assert not Site.objects.filter(name="Invented Lake Clinic").exists()


def test_a_site_does_not_come_beside_the_demonstration(
    administrator: User, other_site: Site, signed_in: Any
) -> None:
    """Unless the demonstration's own administrator adds to it."""
    Site.objects.filter(pk=other_site.pk).update(is_demo=True)
    client = signed_in(administrator)
    filled = invitation(name="Invented Lake Clinic", role="lead")
    answer = client.post("/sites/new/", filled)
    assert answer.status_code == 422
    assert "TROCHLEA_DATA" in answer.content.decode()
    assert not User.objects.filter(username="i.fennick").exists()
    Site.objects.update(is_demo=True)
    client.post("/sites/new/", invitation(name="Invented Lake Clinic", role="lead"))
    assert Site.objects.get(name="Invented Lake Clinic").is_demo


def test_two_sites_have_two_names(
    administrator: User, other_site: Site, signed_in: Any
) -> None:
    """The clash is said at the field."""
    filled = invitation(name=other_site.name, role="lead")
    answer = signed_in(administrator).post("/sites/new/", filled)
    assert "There is a clinic of this name already" in answer.content.decode()


# The first site


def first_site(**changes: str) -> dict[str, str]:
    """Return a filled set-up form."""
    filled = {
        "name": "Invented First Clinic",
        "username": "j.garrow",
        "code": set_up_code(),
    }
    return {**filled, **changes}


@pytest.mark.django_db
def test_the_first_lead_sets_up_the_clinic() -> None:
    """From the set-up page straight on to a passphrase."""
    answer = Client().post("/set-up/", first_site())
    lead = User.objects.get()
    assert lead.role == Role.LEAD
    assert lead.site.name == "Invented First Clinic"
    assert answer.url.startswith("/first-sign-in/")


@pytest.mark.django_db
def test_the_set_up_needs_the_code_of_the_server() -> None:
    """Whoever only reaches the page makes nothing."""
    answer = Client().post("/set-up/", first_site(code="guessed"))
    assert answer.status_code == 422
    assert "not the code" in answer.content.decode()
    assert not Site.objects.exists()


@pytest.mark.django_db
def test_the_set_up_goes_on_where_it_was_left() -> None:
    """A second tap, or a closed browser, locks nobody out."""
    for _ in range(2):
        answer = Client().post("/set-up/", first_site())
        assert answer.url.startswith("/first-sign-in/")
    assert Site.objects.count() == User.objects.count() == 1


def test_the_set_up_is_gone_once_somebody_can_sign_in(clinician: User) -> None:
    """Afterwards the page does not exist, even with the code."""
    assert Client().get("/set-up/").status_code == 404
    assert Client().post("/set-up/", first_site()).status_code == 404


def test_the_set_up_code_is_for_the_servers_owner_alone() -> None:
    """Nobody else on the machine can read it."""
    set_up_code()
    mode = (Path(settings.DATA_DIR) / "setup-code").stat().st_mode
    assert mode & 0o077 == 0


def test_an_invited_person_shows_as_waiting(lead: User, signed_in: Any) -> None:
    """The lead sees who has not come yet."""
    add_person(site=lead.site, username="k.harl", role=Role.CLINICIAN, by=lead)
    assert "not yet" in signed_in(lead).get("/people/").content.decode()


def test_queries_do_not_grow_with_people(
    lead: User, signed_in: Any, query_count: Any
) -> None:
    """A big clinic's list is as quick as a small one's."""
    client = signed_in(lead)
    few = query_count(client, "/people/")
    for _ in range(5):
        make_user(site=lead.site)
    assert query_count(client, "/people/") == few
