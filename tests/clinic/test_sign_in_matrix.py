"""Signing in: rows 7 to 14 of the security matrix, each test named by its row."""

import time
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import axes.handlers.proxy
import pytest
from axes.models import AccessAttempt
from django.contrib.auth.hashers import Argon2PasswordHasher, make_password
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.test import Client
from django.utils import timezone
from django_otp.oath import totp
from django_otp.plugins.otp_static.models import StaticToken
from django_otp.plugins.otp_totp.models import TOTPDevice

from clinic import second_step
from clinic.access import Role
from clinic.invitations import one_time_path, reset_sign_in
from clinic.leaving import deactivate
from clinic.middleware import MUST_SET_UP
from clinic.models import (
    AuditEvent,
    OpenSession,
    SignInPolicy,
    Site,
    User,
)
from clinic.own_sessions import device_words
from tests.factories import PASSPHRASE, confirm_passphrase, make_user

SECRET = "3132333435363738393031323334353637383930"  # RFC 6238, appendix B
WRONG = "wrong wrong wrong"
NEW_PASSPHRASE = "seven copper lanterns drift"
IDLE, WHOLE = timedelta(minutes=15), timedelta(hours=12)


def send(client: Client, username: str, passphrase: str = PASSPHRASE) -> Any:
    """Send the sign-in form."""
    return client.post("/sign-in/", {"username": username, "password": passphrase})


def code_now(secret: str = SECRET, *, steps: int = 0) -> str:
    """Return the code that an app shows now, or some steps of 30 s later."""
    return f"{totp(bytes.fromhex(secret), drift=steps):06}"


@pytest.fixture
def with_step(clinician: User) -> User:
    """The clinician, with the second step set up; the last code is long past."""
    TOTPDevice.objects.create(user=clinician, name="app", key=SECRET, confirmed=True)
    return clinician


@pytest.fixture
def move_clock(monkeypatch: pytest.MonkeyPatch) -> Callable[[timedelta], None]:
    """Move the app's clock on from where the test began."""
    began, moved = timezone.now(), [timedelta()]
    for reader in (timezone, axes.handlers.proxy):
        monkeypatch.setattr(reader, "now", lambda: began + moved[0])

    def move(by: timedelta) -> None:
        moved[0] = by

    return move


# Row 7


def test_row_7_a_session_is_renewed_at_the_sign_in(clinician: User) -> None:
    """Row 7: the key of before opens nothing after (ASVS 7.2.4)."""
    client, planted = Client(), Client()
    session = client.session
    session["kept"] = "x"
    session.save()
    before = session.session_key
    send(client, clinician.username)
    assert client.session.session_key != before
    planted.cookies["session"] = before
    assert planted.get("/").status_code == 302


def test_row_7_a_session_is_renewed_at_the_code(with_step: User) -> None:
    """Row 7: and once more when the code lets somebody in."""
    client = Client()
    send(client, with_step.username)
    before = client.session.session_key
    client.post("/sign-in/code/", {"code": code_now()})
    assert client.session.session_key != before
    assert client.get("/").status_code == 200


# Row 8


@pytest.mark.parametrize(("over", "status"), [(-1, 200), (1, 302)])
def test_row_8_the_idle_limit_holds_to_the_second(
    clinician: User, move_clock: Any, over: int, status: int
) -> None:
    """Row 8: fifteen minutes less a second is in, a second more is out."""
    client = Client()
    send(client, clinician.username)
    move_clock(IDLE + timedelta(seconds=over))
    assert client.get("/").status_code == status


def test_row_8_staying_does_not_stretch_the_whole_time(
    clinician: User, move_clock: Any
) -> None:
    """Row 8: a yes every five minutes still ends after twelve hours."""
    client, at = Client(), timedelta()
    send(client, clinician.username)
    while at < WHOLE - timedelta(minutes=5):
        at += timedelta(minutes=5)
        move_clock(at)
        assert client.post("/still-here/").status_code == 204
    move_clock(WHOLE + timedelta(seconds=1))
    assert client.post("/still-here/").status_code == 401
    assert client.get("/").status_code == 302


def test_row_8_a_page_says_when_its_session_ends(clinician: User) -> None:
    """Row 8: the warning comes from the server's own limits."""
    client = Client()
    send(client, clinician.username)
    page = client.get("/").content.decode()
    assert 'data-idle="900"' in page
    assert 'data-warn="120"' in page


# Row 9


def test_row_9_a_cookie_of_before_the_sign_out_opens_nothing(clinician: User) -> None:
    """Row 9: whoever copied the cookie is out, too (ASVS 7.4.1)."""
    client, copy = Client(), Client()
    send(client, clinician.username)
    copy.cookies["session"] = client.cookies["session"].value
    client.post("/sign-out/")
    assert copy.get("/").status_code == 302
    assert client.get("/").status_code == 302


def test_row_9_who_is_deactivated_is_out_at_once(clinician: User, lead: User) -> None:
    """Row 9: the next request already asks for a sign-in (ASVS 7.4.2)."""
    client = Client()
    send(client, clinician.username)
    assert client.get("/").status_code == 200
    deactivate(clinician, by=lead, reason="Left.")
    assert client.get("/").status_code == 302
    assert not OpenSession.objects.filter(user=clinician, ended_at=None).exists()


def test_row_9_a_session_is_ended_from_another_device(clinician: User) -> None:
    """Row 9: the list shows devices in words, and ending one holds at once."""
    here, there = Client(), Client(HTTP_USER_AGENT="(iPad) AppleWebKit Safari/1")
    for client in (here, there):
        send(client, clinician.username)
    page = here.get("/account/").content.decode()
    assert "Safari on iPad" in page
    row = OpenSession.objects.get(device="Safari on iPad")
    here.post(f"/account/sessions/{row.pk}/end/")
    assert there.get("/").status_code == 302
    assert here.get("/").status_code == 200
    assert AuditEvent.objects.filter(action="session.ended").count() == 1


def test_row_9_nobody_ends_the_session_of_another(
    clinician: User, colleague: User
) -> None:
    """Row 9: a number guessed is of no use."""
    mine, theirs = Client(), Client()
    send(mine, clinician.username)
    send(theirs, colleague.username)
    row = OpenSession.objects.get(user=colleague)
    mine.post(f"/account/sessions/{row.pk}/end/")
    assert theirs.get("/").status_code == 200


def test_devices_are_words() -> None:
    """Neither versions nor models; what is not known says so."""
    chrome = "Mozilla/5.0 (X11; Linux x86_64) AppleWebKit/1 Chrome/1 Safari/1"
    assert device_words(chrome) == "Chrome on Linux computer"
    assert device_words("") == "a device that does not say what it is"


def test_handing_the_device_over(clinician: User, colleague: User) -> None:
    """The next person's name stands in the form; the one before is out."""
    client = Client()
    send(client, clinician.username)
    assert "brellow" in client.get("/switch/").content.decode()
    answer = client.post("/sign-out/", {"next_person": str(colleague.pk)})
    assert answer.url == "/sign-in/"
    assert answer["Clear-Site-Data"] == '"cache", "storage"'
    assert f'value="{colleague.username}"' in client.get("/sign-in/").content.decode()
    assert client.get("/").status_code == 302
    assert AuditEvent.objects.filter(action="session.switched").count() == 1


def test_a_stranger_is_not_offered_the_device(clinician: User, stranger: User) -> None:
    """A person of another site is neither listed nor taken."""
    client = Client()
    send(client, clinician.username)
    assert stranger.username not in client.get("/switch/").content.decode()
    client.post("/sign-out/", {"next_person": str(stranger.pk)})
    assert stranger.username not in client.get("/sign-in/").content.decode()


# Row 10


def change(client: Client, old: str = PASSPHRASE) -> Any:
    """Change the passphrase."""
    new = {"new_password1": NEW_PASSPHRASE, "new_password2": NEW_PASSPHRASE}
    return client.post("/passphrase/", {"old_password": old, **new})


def test_row_10_a_changed_passphrase_ends_other_sessions(clinician: User) -> None:
    """Row 10: the device that changed it stays in (ASVS 7.4.3)."""
    here, there = Client(), Client()
    for client in (here, there):
        send(client, clinician.username)
    assert change(here).status_code == 302
    assert here.get("/").status_code == 200
    assert there.get("/").status_code == 302
    assert OpenSession.objects.filter(user=clinician, ended_at=None).count() == 1
    line = AuditEvent.objects.get(action="session.passphrase_changed")
    assert NEW_PASSPHRASE not in str(line.detail)


def test_row_10_the_present_passphrase_is_asked(clinician: User) -> None:
    """Row 10: without it nothing changes (ASVS 7.5.1)."""
    client = Client()
    send(client, clinician.username)
    assert change(client, old=WRONG).status_code == 200
    assert send(Client(), clinician.username).status_code == 302


def test_row_10_the_second_step_is_not_changed_without_the_passphrase(
    with_step: User, signed_in: Any
) -> None:
    """Row 10: neither given up nor given new codes."""
    client = signed_in(with_step)
    for path in ("/account/no-second-step/", "/account/codes/"):
        assert client.post(path).url.startswith("/confirm/")
    assert second_step.has_second_step(with_step)
    confirm_passphrase(client)
    client.post("/account/no-second-step/")
    assert not second_step.has_second_step(with_step)


# Row 11


@pytest.mark.parametrize(
    "passphrase",
    [
        "fifteen letters",
        "a line of words that is longer than sixty-four characters, spaces and all",
        "émigré 🦵 kneecap 🦵 weather",
        "onlylowercaseletters",
    ],
)
def test_row_11_length_counts_and_kinds_of_characters_do_not(
    clinician: User, passphrase: str
) -> None:
    """Row 11: 15 and more, any characters, no rule of composition (ASVS 6.2)."""
    validate_password(passphrase, clinician)


@pytest.mark.parametrize(
    "passphrase", ["only14letters!", "passwordpassword", "invented knee clinic 1"]
)
def test_row_11_what_is_guessed_first_is_refused(
    clinician: User, passphrase: str
) -> None:
    """Row 11: short, common, or the clinic's own name."""
    with pytest.raises(ValidationError):
        validate_password(passphrase, clinician)


def test_row_11_no_passphrase_is_cut_off(settings: Any) -> None:
    """Row 11: two that differ after byte 72 do not match."""
    settings.PASSWORD_HASHERS = [
        f"{Argon2PasswordHasher.__module__}.Argon2PasswordHasher"
    ]
    long = "x" * 80
    person = User(username="long")
    person.set_password(long + "a")
    assert person.check_password(long + "a")
    assert not person.check_password(long + "b")


# Row 12


def test_row_12_the_passphrase_alone_opens_nothing(with_step: User) -> None:
    """Row 12: with a second step set up, no page opens before the code (ASVS 6.3.3)."""
    client = Client()
    answer = send(client, with_step.username)
    assert "Second step" in answer.content.decode()
    assert client.get("/").status_code == 302
    assert not AuditEvent.objects.filter(action="session.signed_in").exists()
    assert client.post("/sign-in/code/", {"code": code_now()}).url == "/"
    line = AuditEvent.objects.get(action="session.signed_in")
    assert line.detail == {"way": "code of the app"}


def test_row_12_a_code_opens_once(with_step: User) -> None:
    """Row 12: the same code a second time is refused (ASVS 6.5.1)."""
    code, first, second = code_now(), Client(), Client()
    for client in (first, second):
        send(client, with_step.username)
    assert first.post("/sign-in/code/", {"code": code}).status_code == 302
    assert second.post("/sign-in/code/", {"code": code}).status_code == 422
    assert second.get("/").status_code == 302


@pytest.mark.parametrize("steps", [-3, 3])
def test_row_12_a_code_of_another_time_is_refused(with_step: User, steps: int) -> None:
    """Row 12: steps of 30 s, one of them either way for a slow clock (ASVS 6.5.5)."""
    client = Client()
    send(client, with_step.username)
    assert TOTPDevice.objects.get().step == 30
    code = code_now(steps=steps)
    assert client.post("/sign-in/code/", {"code": code}).status_code == 422


def test_row_12_a_recovery_code_opens_once_and_is_not_kept_in_plain(
    with_step: User,
) -> None:
    """Row 12: without the telephone, one code of the card."""
    codes = second_step.renew_codes(with_step)
    assert len(codes) == 10
    kept = set(StaticToken.objects.values_list("token", flat=True))
    assert not kept & {code.replace("-", "") for code in codes}
    for expected in (302, 422):
        client = Client()
        send(client, with_step.username)
        answer = client.post("/sign-in/code/", {"code": codes[0].upper()})
        assert answer.status_code == expected
    assert second_step.recovery_codes_left(with_step) == 9


def test_row_12_the_code_is_not_asked_of_a_stranger(db: None) -> None:
    """Row 12: the page of the code is nobody's way in without a passphrase."""
    assert Client().get("/sign-in/code/").url == "/sign-in/"
    assert Client().post("/sign-in/code/", {"code": "123456"}).url == "/sign-in/"


def test_row_12_the_passphrase_counts_for_five_minutes(
    with_step: User, move_clock: Any
) -> None:
    """Row 12: a page of the code that was left open is no door."""
    client = Client()
    send(client, with_step.username)
    move_clock(timedelta(minutes=5, seconds=1))
    assert client.post("/sign-in/code/", {"code": code_now()}).url == "/sign-in/"


def old_lead(site: Site) -> User:
    """A lead whose days to set it up are over."""
    person = make_user(site=site, username="old.lead", role=Role.LEAD)
    person.date_joined = timezone.now() - timedelta(days=15)
    person.save()
    return person


def test_row_12_where_it_is_asked_nothing_opens_before(site: Site) -> None:
    """Row 12: after the days of grace a lead sets it up first, and is then let in."""
    client = Client()
    assert send(client, old_lead(site).username).url == "/account/second-step/"
    assert client.get("/").url == "/account/second-step/"
    assert client.post("/people/1/one-time/").url == "/account/second-step/"
    page = client.get("/account/second-step/")
    assert page.context["picture"].startswith("data:image/svg+xml")
    code = code_now(client.session["second_step_secret"])
    answer = client.post("/account/second-step/", {"code": code})
    assert len(answer.context["codes"]) == 10
    assert client.get("/").status_code == 200
    assert AuditEvent.objects.filter(action="second_step.set_up").count() == 1


def test_row_12_a_wrong_code_sets_nothing_up(clinician: User) -> None:
    """Row 12: a telephone that scanned something else locks nobody out."""
    client = Client()
    send(client, clinician.username)
    client.get("/account/second-step/")
    answer = client.post("/account/second-step/", {"code": "000000"})
    assert "another code" in answer.content.decode()
    assert not second_step.has_second_step(clinician)


def test_row_12_within_the_days_of_grace_the_lead_works(lead: User) -> None:
    """Row 12: a new clinic is not stopped on its first day."""
    client = Client()
    send(client, lead.username)
    assert client.get("/").status_code == 200


def test_row_12_a_demonstration_asks_nobody(site: Site) -> None:
    """Row 12: demo sign-ins open on their own machine with a passphrase."""
    person = old_lead(site)
    Site.objects.filter(pk=site.pk).update(is_demo=True)
    client = Client()
    send(client, person.username)
    assert client.session[MUST_SET_UP] is False
    assert client.get("/").status_code == 200


def test_row_12_the_lead_sets_of_whom_it_is_asked(lead: User, clinician: User) -> None:
    """Row 12: the policy is the clinic's, on record with before and after."""
    client = Client()
    send(client, lead.username)
    sent = {"roles": ["clinician"], "grace_days": "0", "version": "0"}
    assert client.post("/people/sign-in/", sent).status_code == 302
    stored = SignInPolicy.objects.get()
    assert stored.second_step_roles == ["clinician"]
    assert send(Client(), clinician.username).url == "/account/second-step/"
    line = AuditEvent.objects.get(action="site.sign_in_policy_changed")
    assert line.detail["before"]["roles"] == ["lead", "administrator"]
    assert (
        client.post("/people/sign-in/", sent | {"grace_days": "3"}).status_code == 409
    )


def test_row_12_a_new_one_time_sign_in_sets_the_second_step_back(
    with_step: User, lead: User
) -> None:
    """Row 12: whoever lost telephone and card is let in by the lead, on record."""
    client = Client()
    send(client, with_step.username)
    client.post("/sign-in/code/", {"code": code_now()})
    with_step.refresh_from_db()
    reset_sign_in(with_step, by=lead)
    assert client.get("/").status_code == 302
    assert not second_step.has_second_step(with_step)
    assert Client().get(one_time_path(with_step)).status_code == 302


# Row 13


def fail(client: Client, username: str, times: int = 5) -> Any:
    """Send a wrong passphrase some times; return the last answer."""
    return [send(client, username, WRONG) for _ in range(times)][-1]


def test_row_13_after_five_failures_the_right_passphrase_waits_too(
    clinician: User, move_clock: Any
) -> None:
    """Row 13: refused during the pause, accepted after it (ASVS 6.3.1)."""
    client = Client()
    assert fail(client, clinician.username, 4).status_code == 200
    assert fail(client, clinician.username, 1).status_code == 429
    answer = send(client, clinician.username)
    assert answer.status_code == 429
    assert "Wait 15 minutes" in answer.content.decode()
    assert send(Client(REMOTE_ADDR="192.0.2.9"), clinician.username).status_code == 429
    move_clock(timedelta(minutes=15, seconds=1))
    assert send(client, clinician.username).status_code == 302


def test_row_13_attempts_during_the_pause_do_not_stretch_it(
    clinician: User, move_clock: Any
) -> None:
    """Row 13: nobody can keep somebody out for good."""
    client = Client()
    fail(client, clinician.username)
    move_clock(timedelta(minutes=14))
    fail(client, clinician.username)
    move_clock(timedelta(minutes=15, seconds=1))
    assert send(client, clinician.username).status_code == 302


def test_row_13_one_source_meets_its_own_limit(
    clinician: User, colleague: User, settings: Any
) -> None:
    """Row 13: many names tried from one place; another place is not touched."""
    settings.SIGN_IN_FAILURES_PER_SOURCE = 8
    there = Client(REMOTE_ADDR="192.0.2.9")
    for number in range(8):
        send(there, f"nobody{number}", WRONG)
    assert send(there, colleague.username).status_code == 429
    assert send(Client(), colleague.username).status_code == 302


def test_row_13_unknown_names_get_the_same_answers(clinician: User) -> None:
    """Row 13: failing and paused, a name that nobody has looks like one that is."""
    answers = {}
    for name in (clinician.username, "nobody.here"):
        client = Client(REMOTE_ADDR=f"192.0.2.{len(answers) + 1}")
        sent = [send(client, name, WRONG) for _ in range(6)]
        answers[name] = [
            (one.status_code, one.context["form"].non_field_errors()) for one in sent
        ]
    assert answers[clinician.username] == answers["nobody.here"]


def test_row_13_unknown_names_take_as_long(clinician: User, settings: Any) -> None:
    """Row 13: the hash is worked out for nobody, too; medians within a factor of 2."""
    settings.PASSWORD_HASHERS = [
        f"{Argon2PasswordHasher.__module__}.Argon2PasswordHasher"
    ]
    clinician.set_password(PASSPHRASE)
    clinician.save()
    settings.AXES_FAILURE_LIMIT = settings.SIGN_IN_FAILURES_PER_SOURCE = 1000
    taken: dict[str, list[float]] = {clinician.username: [], "nobody.here": []}
    for _ in range(7):
        for name, times in taken.items():
            began = time.perf_counter()
            send(Client(), name, WRONG)
            times.append(time.perf_counter() - began)
    known, unknown = (sorted(times)[3] for times in taken.values())
    assert 0.5 < known / unknown < 2


def test_row_13_wrong_codes_count_as_well(with_step: User) -> None:
    """Row 13: six digits are not to be guessed through; the right one waits too."""
    client = Client()
    send(client, with_step.username)
    for _ in range(5):
        client.post("/sign-in/code/", {"code": "wrongcode"})
    answer = client.post("/sign-in/code/", {"code": code_now()})
    assert answer.status_code == 429
    assert "Wait 15 minutes" in answer.content.decode()
    assert client.get("/").status_code == 302


def test_row_13_failures_are_on_record_without_what_was_typed(
    clinician: User, db: None
) -> None:
    """Row 13: who, from where and when; never a passphrase, never an unknown name."""
    client = Client()
    typed = {"password": "typed by mistake", "held": "a clinical note"}
    client.post("/sign-in/", {"username": clinician.username, **typed})
    client.post("/sign-in/", {"username": "my secret passphrase", **typed})
    failed = AuditEvent.objects.filter(action="session.sign_in_failed")
    known, unknown = failed.order_by("pk")
    told = {"source": "127.0.0.1", "step": "passphrase", "is_paused": False}
    assert (known.by, known.detail) == (clinician, told)
    assert (unknown.by, unknown.detail) == (None, told)
    kept = f"{list(AccessAttempt.objects.values())} {list(failed.values())}"
    for secret in ("typed by mistake", "clinical note", "secret passphrase"):
        assert secret not in kept


def test_row_13_the_source_is_what_the_nearest_proxy_saw(
    clinician: User, settings: Any
) -> None:
    """Row 13: what a client writes into the header itself does not count."""
    settings.IS_BEHIND_PROXY = True
    forged = Client(headers={"x-forwarded-for": "198.51.100.1, 192.0.2.44"})
    send(forged, clinician.username, WRONG)
    assert AuditEvent.objects.get().detail["source"] == "192.0.2.44"
    send(Client(headers={"x-forwarded-for": "no address"}), "nobody", WRONG)
    unknown = AuditEvent.objects.filter(action="session.sign_in_failed").last()
    assert unknown and unknown.detail["source"] is None


# Row 14


def test_row_14_hashes_are_argon2_and_an_old_one_is_renewed(
    clinician: User, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Row 14: the approved function at its present cost, from the next sign-in on."""
    settings.PASSWORD_HASHERS = [
        f"{Argon2PasswordHasher.__module__}.Argon2PasswordHasher"
    ]
    with monkeypatch.context() as earlier:
        earlier.setattr(Argon2PasswordHasher, "time_cost", 1)
        clinician.password = make_password(PASSPHRASE)
        clinician.save()
    assert "t=1," in clinician.password
    assert send(Client(), clinician.username).status_code == 302
    clinician.refresh_from_db()
    assert clinician.password.startswith("argon2$argon2id$")
    assert f"t={Argon2PasswordHasher.time_cost}," in clinician.password


# Over a page that was left open


def again(client: Client, person: User, **sent: str) -> Any:
    """Sign in again from a page that was left open."""
    filled = {"username": person.username, "password": PASSPHRASE, **sent}
    return client.post("/sign-in/again/", filled)


def test_signing_in_again_hands_out_a_token(clinician: User) -> None:
    """The page goes on with it; the next request is signed in."""
    client = Client()
    answer = again(client, clinician)
    assert len(answer.json()["token"]) == 64
    assert client.get("/").status_code == 200


def test_signing_in_again_is_no_way_round_the_code(with_step: User) -> None:
    """What the sign-in asks for, this asks for."""
    client = Client()
    assert again(client, with_step).status_code == 422
    assert again(client, with_step, code="000000").status_code == 422
    assert client.get("/").status_code == 302
    assert again(client, with_step, code=code_now()).status_code == 200
    assert client.get("/").status_code == 200


def test_signing_in_again_is_no_way_round_the_pause(clinician: User) -> None:
    """Failures there count like any other."""
    client = Client()
    for _ in range(5):
        answer = again(client, clinician, password=WRONG)
    assert answer.status_code == 429
    assert "Wait 15 minutes" in answer.json()["error"]
    assert again(client, clinician).status_code == 429


def test_signing_in_again_is_no_way_round_the_set_up(site: Site) -> None:
    """Who owes the second step does not come in here."""
    assert again(Client(), old_lead(site)).status_code == 422


def test_a_held_form_comes_back_after_the_code(with_step: User) -> None:
    """What was typed survives passphrase, code and all, without scripts."""
    client = Client()
    client.force_login(with_step)
    client.session.flush()
    held = client.post("/", {"note": "typed before"}).context["held"]
    sent = {"username": with_step.username, "password": PASSPHRASE, "held": held}
    page = client.post("/sign-in/", sent)
    assert page.context["held"] == held
    answer = client.post("/sign-in/code/", {"code": code_now(), "held": held})
    assert 'value="typed before"' in answer.content.decode()


def test_a_held_form_comes_back_after_the_set_up(site: Site) -> None:
    """Even where the second step is owed first."""
    person, client = old_lead(site), Client()
    held = client.post("/", {"note": "typed before"}).context["held"]
    sent = {"username": person.username, "password": PASSPHRASE, "held": held}
    client.post("/sign-in/", sent)
    client.get("/account/second-step/")
    code = code_now(client.session["second_step_secret"])
    client.post("/account/second-step/", {"code": code})
    assert 'value="typed before"' in client.post("/account/go-on/").content.decode()
