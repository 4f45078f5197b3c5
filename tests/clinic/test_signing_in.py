"""Signing in and out, the one-time sign-in, and how a session ends."""

from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.tokens import default_token_generator as maker
from django.test import Client
from django.utils import timezone

from clinic.access import Role
from clinic.invitations import add_person, one_time_path
from clinic.leaving import deactivate
from clinic.middleware import SIGNED_IN_AT
from clinic.models import AuditEvent, Site, User
from tests.factories import PASSPHRASE, make_user

NEW_PASSPHRASE = "seven copper lanterns drift"


def sign_in(client: Client, username: str, **changes: Any) -> Any:
    """Send the sign-in form."""
    filled = {"username": username, "password": PASSPHRASE, **changes}
    return client.post("/sign-in/", filled)


def test_a_clinician_starts_at_the_caseload(clinician: User) -> None:
    """After the sign-in come the cases."""
    assert sign_in(Client(), clinician.username).url == "/"


@pytest.mark.parametrize("next_page", ["", "/"])
def test_an_administrator_starts_at_people(administrator: User, next_page: str) -> None:
    """Whoever has no cases is not sent to a refusal, however they came."""
    client = Client()
    answer = sign_in(client, administrator.username, next=next_page)
    assert answer.url == "/people/"
    assert client.get(answer.url).status_code == 200


def test_the_way_back_leads_to_the_page(clinician: User) -> None:
    """Signing in goes on where the person was."""
    answer = sign_in(Client(), clinician.username, next="/measures/")
    assert answer.url == "/measures/"


def test_nobody_is_sent_to_another_host(clinician: User) -> None:
    """A forged way back is ignored."""
    answer = sign_in(Client(), clinician.username, next="https://invented.example/")
    assert answer.url == "/"


def test_a_wrong_name_and_a_wrong_passphrase_look_alike(
    clinician: User, colleague: User
) -> None:
    """The answer does not tell who exists, nor who was deactivated."""
    deactivate(colleague, by=clinician, reason="Left.")
    answers = [
        sign_in(Client(), "nobody.here"),
        sign_in(Client(), clinician.username, password="wrong wrong wrong"),
        sign_in(Client(), colleague.username),
    ]
    errors = [a.context["form"].non_field_errors() for a in answers]
    assert errors[0] == errors[1] == errors[2]
    assert "do not match" in errors[0][0]


def test_the_session_key_changes_at_the_sign_in(clinician: User) -> None:
    """A key that somebody planted before is worth nothing after."""
    client = Client()
    session = client.session
    session["kept"] = "x"
    session.save()
    before = session.session_key
    client.cookies["session"] = before
    sign_in(client, clinician.username)
    assert client.session.session_key != before


def test_a_session_ends_after_twelve_hours_of_use(
    clinician: User, signed_in: Any
) -> None:
    """Use does not stretch a session over the absolute limit."""
    client = signed_in(clinician)
    session, now = client.session, timezone.now()
    session[SIGNED_IN_AT] = (now - timedelta(hours=11, minutes=59)).timestamp()
    session.save()
    assert client.get("/").status_code == 200
    session[SIGNED_IN_AT] = (now - timedelta(hours=12, minutes=1)).timestamp()
    session.save()
    answer = client.get("/")
    assert answer.status_code == 302
    assert answer.url.startswith("/sign-in/")


def test_the_sign_in_notes_when_it_began(clinician: User) -> None:
    """The absolute limit counts from here."""
    client = Client()
    sign_in(client, clinician.username)
    assert client.session[SIGNED_IN_AT] == pytest.approx(
        timezone.now().timestamp(), abs=60
    )


def test_the_session_ends_fifteen_minutes_after_its_last_use(
    clinician: User,
) -> None:
    """A tablet that was put down asks again."""
    client = Client()
    sign_in(client, clinician.username)
    assert client.session.get_expiry_age() == 15 * 60


def test_signing_out_clears_what_the_browser_kept(
    clinician: User, signed_in: Any
) -> None:
    """Nothing opens afterwards, and the browser is told to forget."""
    client = signed_in(clinician)
    answer = client.post("/sign-out/")
    assert answer["Clear-Site-Data"] == '"cache", "storage"'
    assert client.get("/").status_code == 302
    assert AuditEvent.objects.filter(action="session.signed_out").count() == 1


def test_signing_out_needs_a_post(clinician: User, signed_in: Any) -> None:
    """No link from elsewhere signs anybody out."""
    client = signed_in(clinician)
    assert client.get("/sign-out/").status_code == 405
    assert client.get("/").status_code == 200


def test_pages_are_kept_out_of_caches(clinician: User, signed_in: Any) -> None:
    """The browser keeps no copy of a page with clinical data."""
    assert signed_in(clinician).get("/")["Cache-Control"] == "no-store"


# Demo people


@pytest.fixture
def demo_person(db: None) -> User:
    """A person of a demo site."""
    site = Site.objects.create(name="Demo clinic", is_demo=True)
    return make_user(site=site, username="demo.person")


def test_a_demo_person_signs_in_on_this_machine(demo_person: User) -> None:
    """The demo needs no more than its own machine."""
    assert sign_in(Client(), demo_person.username).status_code == 302


def test_a_demo_person_does_not_sign_in_from_elsewhere(demo_person: User) -> None:
    """Sign-ins that were printed on a screen open nothing over a network."""
    client = Client(REMOTE_ADDR="192.0.2.7")
    answer = sign_in(client, demo_person.username)
    assert "only on the machine" in answer.content.decode()
    assert client.get("/").status_code == 302


def test_a_demo_person_does_not_sign_in_where_hosts_are_named(
    demo_person: User, settings: Any
) -> None:
    """Behind a proxy every request seems to come from this machine."""
    settings.IS_LOOPBACK_ONLY = False
    assert sign_in(Client(), demo_person.username).status_code == 200


def test_a_demo_link_opens_on_this_machine_only(demo_person: User) -> None:
    """The one-time sign-in is no way round."""
    path = one_time_path(demo_person)
    assert Client(REMOTE_ADDR="192.0.2.7").get(path).status_code == 403
    assert Client().get(path).status_code == 302


# The one-time sign-in


@pytest.fixture
def invited(lead: User) -> User:
    """A person who has never signed in."""
    return add_person(
        site=lead.site, username="h.fennick", role=Role.CLINICIAN, by=lead
    )


def choose(client: Client, path: str, passphrase: str = NEW_PASSPHRASE) -> Any:
    """Open a one-time link and choose a passphrase."""
    form = client.get(path).headers.get("Location", path)
    filled = {"new_password1": passphrase, "new_password2": passphrase}
    return client.post(form, filled)


def test_a_one_time_link_opens_once(invited: User) -> None:
    """It signs in, starts the clock of the session, and is used up."""
    path, client = one_time_path(invited), Client()
    assert choose(client, path).url == "/"
    assert client.get("/").status_code == 200
    assert SIGNED_IN_AT in client.session
    again = Client().get(path)
    assert "no longer opens" in again.content.decode()
    assert sign_in(Client(), invited.username, password=NEW_PASSPHRASE).url == "/"


def test_a_newer_link_ends_the_older(invited: User, lead: User, signed_in: Any) -> None:
    """A link that went astray is worthless once another was made."""
    old = one_time_path(invited)
    signed_in(lead).post(f"/people/{invited.pk}/one-time/")
    assert "no longer opens" in Client().get(old).content.decode()


def test_a_link_of_the_deactivated_opens_nothing(invited: User, lead: User) -> None:
    """Whoever left before the first sign-in stays out."""
    path = one_time_path(invited)
    deactivate(invited, by=lead, reason="Left.")
    assert "no longer opens" in Client().get(path).content.decode()


def test_a_link_runs_out_after_three_days(
    invited: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An invitation in an old message is no key."""
    path, now = one_time_path(invited), maker._now()
    monkeypatch.setattr(maker, "_now", lambda: now + timedelta(days=3, minutes=1))
    assert "no longer opens" in Client().get(path).content.decode()


def test_a_short_passphrase_is_refused_in_our_words(invited: User) -> None:
    """Fifteen characters, and the page speaks of a passphrase."""
    answer = choose(Client(), one_time_path(invited), "only14letters!")
    text = answer.content.decode()
    assert "passphrase is too short" in text
    assert "15 characters" in text
    assert "password is" not in text


def test_fifteen_characters_are_enough(invited: User) -> None:
    """The limit is the published one, not one more."""
    assert choose(Client(), one_time_path(invited), "fifteen letters").url == "/"


def test_changing_a_passphrase_ends_other_sessions(clinician: User) -> None:
    """Whoever else is signed in as the person is out; the person stays in."""
    here, there = Client(), Client()
    for client in (here, there):
        sign_in(client, clinician.username)
    filled = {
        "old_password": PASSPHRASE,
        "new_password1": NEW_PASSPHRASE,
        "new_password2": NEW_PASSPHRASE,
    }
    assert here.post("/passphrase/", filled).url == "/"
    assert here.get("/").status_code == 200
    assert there.get("/").status_code == 302


def test_two_different_passphrases_are_refused_in_our_words(
    clinician: User, signed_in: Any
) -> None:
    """A slip of the finger locks nobody out."""
    filled = {
        "old_password": PASSPHRASE,
        "new_password1": NEW_PASSPHRASE,
        "new_password2": NEW_PASSPHRASE + "s",
    }
    answer = signed_in(clinician).post("/passphrase/", filled)
    assert "The two passphrases differ" in answer.content.decode()
