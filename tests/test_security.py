"""What a security officer asks, held on every address; the table is in the guide."""

import json
import logging
import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.apps import apps
from django.contrib.auth.hashers import Argon2PasswordHasher
from django.db import connection, models
from django.db.models import Value
from django.db.models.functions import Cast, Concat
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils.html import escape

from clinic import urls
from clinic.admitting import log_contact
from clinic.models import (
    AuditChain,
    AuditEvent,
    ContactAttempt,
    Patient,
    Submission,
    User,
)
from clinic.passphrases import RepetitionValidator
from tests import test_access
from tests.factories import PASSPHRASE, confirm_passphrase
from tests.test_access import EXPECTED
from tests.test_architecture import APPS, ROOT
from tests.test_start_up import KEY, start, tracked_files

cast, targets = test_access.cast, test_access.targets
People, Targets = dict[str, User | None], dict[str, list[Any]]
SignIn = Callable[..., Client]
CANARY = "</script><img src=x onerror=alert(1)>{{7*7}}' OR 1=1 --"
# Columns that hold a key of ours, which no form takes as free text.
KEYS = {
    "action",
    "drawn_by",
    "exercise",
    "fingerprint",
    "key",
    "kind",
    "language",
    "measure",
    "outcome",
    "password",
    "primary_measure",
    "request_id",
    "rule",
    "sha256",
    "subject",
    "test",
    "unit",
}
HARMLESS = {"health", "ready"}


@pytest.fixture
def lead_client(cast: People, signed_in: SignIn) -> Client:
    """The lead's browser, the passphrase typed again just now."""
    assert cast["lead"]
    client = signed_in(cast["lead"])
    confirm_passphrase(client)
    return client


@pytest.fixture
def small_simulation(monkeypatch: pytest.MonkeyPatch) -> None:
    """The page of a policy's cost draws few cases."""
    monkeypatch.setattr("outcomes.policy_cost.CASES", 20)


@pytest.fixture(scope="module")
def production(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """What the settings say to browsers where a host is named."""
    show = (
        "import json; from django.conf import settings as s;"
        "print(json.dumps({n: getattr(s, n) for n in dir(s) if n.isupper()"
        " and n.startswith(('SECURE_', 'SESSION_COOKIE_', 'CSRF_COOKIE_', 'DEBUG',"
        " 'PASSWORD_HASHERS', 'X_FRAME'))}, default=str))"
    )
    named = {"TROCHLEA_KEY": KEY, "TROCHLEA_HOSTS": "clinic.example"}
    run = start("-c", show, data=tmp_path_factory.mktemp("data"), **named)
    told: dict[str, Any] = json.loads(run.stdout)
    return told


@pytest.fixture
def secure(production: dict[str, Any], settings: Any) -> Client:
    """A browser that reaches the app as its settings are in use."""
    for name, value in production.items():
        if name != "PASSWORD_HASHERS":
            setattr(settings, name, value)
    settings.ALLOWED_HOSTS = ["testserver"]
    return Client(raise_request_exception=False)


def addresses(targets: Targets) -> Iterator[tuple[str, str]]:
    """Yield each route with an address of it."""
    for name, row in EXPECTED.items():
        yield name, reverse(name, args=targets[row.target])


def whole(answer: Any) -> str:
    """Return a page as text; a file gives nothing to look at here."""
    is_page = answer.get("Content-Type", "").startswith("text/html")
    return "" if answer.streaming or not is_page else answer.content.decode()


def stored() -> dict[str, list[Any]]:
    """Return every row of the project but the trail, which notes who looked."""
    return {
        model.__name__: list(model._default_manager.order_by("pk").values())
        for app in APPS
        for model in apps.get_app_config(app).get_models()
        if model not in (AuditEvent, AuditChain)
    }


# 3 to 6: fields, addresses, forms


def test_extra_fields_change_nothing(
    cast: People, targets: Targets, signed_in: SignIn
) -> None:
    """A role, a site, an owner or a score that a form did not ask for is ignored."""
    clinician, other = cast["clinician"], cast["stranger"]
    assert clinician and other
    path = reverse("outcomes:log_contact", args=targets["case"])
    sent = {"tried_on": "2026-06-01", "way": "call", "result": "no answer"}
    theirs = {"site": other.site_id, "by": other.pk, "role": "lead", "is_superuser": 1}
    answer = signed_in(clinician).post(path, {**sent, **theirs, "score": 100, "id": 1})
    assert answer.status_code == 302
    row = ContactAttempt.objects.get()
    assert (row.by, row.episode_id) == (clinician, targets["case"][0])
    clinician.refresh_from_db()
    assert (clinician.role, clinician.is_superuser) == ("clinician", False)


def test_a_look_changes_nothing(
    lead_client: Client, targets: Targets, small_simulation: None
) -> None:
    """A GET of every address leaves every row as it was."""
    before = stored()
    for _, path in addresses(targets):
        lead_client.get(path)
    after = stored()
    assert [name for name in before if after[name] != before[name]] == []


def test_no_form_is_taken_without_its_mark(cast: People, targets: Targets) -> None:
    """A page of another site cannot post in somebody's name, to any address."""
    assert cast["lead"]
    client = Client(enforce_csrf_checks=True)
    client.force_login(cast["lead"])
    before = stored()
    for name, path in addresses(targets):
        if name not in HARMLESS:
            assert client.post(path, {"x": "y"}).status_code == 403, name
    assert stored() == before


# 11 and 14: passphrases


def test_passphrases_are_hashed_slowly_and_whole(production: dict[str, Any]) -> None:
    """Argon2 in use; nothing is cut off, however long; any letter goes."""
    assert production["PASSWORD_HASHERS"] == [
        "django.contrib.auth.hashers.Argon2PasswordHasher"
    ]
    hasher = Argon2PasswordHasher()
    long = "ein langer Satz mit Wörtern 🦵 " * 4
    kept = hasher.encode(f"{long}a", hasher.salt())
    assert kept.startswith("argon2$argon2id$")
    assert hasher.verify(f"{long}a", kept)
    assert not hasher.verify(f"{long}b", kept)
    RepetitionValidator().validate(f"{long[:30]} lantern over the hill")


# 15, 16, 26: what the browser is told


def test_cookies_belong_to_this_host_alone(secure: Client, clinician: User) -> None:
    """Named __Host-, Secure, out of reach of scripts, for the whole path only."""
    secure.get("/sign-in/", secure=True)
    form = {"username": clinician.username, "password": PASSPHRASE}
    secure.post("/sign-in/", form, secure=True)
    assert {"__Host-session", "__Host-csrf"} <= set(secure.cookies)
    for name in ("__Host-session", "__Host-csrf"):
        cookie = secure.cookies[name]
        assert cookie["secure"] and cookie["httponly"], name
        assert (cookie["path"], cookie["domain"]) == ("/", ""), name
        assert cookie["samesite"] in ("Lax", "Strict"), name


def holds_headers(answer: HttpResponse) -> None:
    """Hold one answer to the headers that each has to carry."""
    policy = answer["Content-Security-Policy"]
    assert "unsafe" not in policy and "http" not in policy
    for part in ("object-src", "base-uri", "frame-ancestors", "default-src"):
        assert f"{part} 'none'" in policy
    assert "script-src 'self';" in f"{policy};"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Referrer-Policy"] == "same-origin"
    assert answer["X-Frame-Options"] == "DENY"
    seconds = re.match(
        r"max-age=(\d+); includeSubDomains", answer["Strict-Transport-Security"]
    )
    assert seconds and int(seconds[1]) >= 31_536_000


@pytest.mark.parametrize(
    ("path", "status"),
    [("/", 200), ("/no/such/page/", 404), ("/policy/", 403), ("/fails/", 500)],
)
def test_every_kind_of_answer_carries_the_headers(
    path: str,
    status: int,
    secure: Client,
    clinician: User,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A page, a page that is not there, a refusal and a failure alike."""
    secure.force_login(clinician)
    if status == 500:
        path = "/"
        monkeypatch.setattr("outcomes.views.caseload.page_or_fragment", fail)
    elif status == 403:
        path = reverse("outcomes:policy")
    answer = secure.get(path, secure=True)
    assert answer.status_code == status
    holds_headers(answer)
    assert answer["Cache-Control"] == "no-store"


def fail(*_: Any, **__: Any) -> None:
    """Break, as a fault of ours would."""
    raise RuntimeError("a secret detail")


def test_a_file_carries_the_headers(
    secure: Client, lead: User, targets: Targets
) -> None:
    """A bundle that leaves is no exception."""
    secure.force_login(lead)
    confirm_passphrase(secure)
    path = reverse("outcomes:bundle", args=targets["case"])
    page = secure.get(path, secure=True)
    assert page.status_code == 200
    holds_headers(page)
    holds_headers(secure.post(path, secure=True))


def test_plain_http_leads_to_https(secure: Client, settings: Any) -> None:
    """And a proxy's word for it counts only where the settings say so."""
    assert secure.get("/sign-in/").url == "https://testserver/sign-in/"
    said = {"HTTP_X_FORWARDED_PROTO": "https"}
    assert secure.get("/sign-in/", **said).status_code == 301
    settings.SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    assert Client().get("/sign-in/", **said).status_code == 200


# 17 and 18: what is left behind


def test_no_signed_in_answer_is_kept_by_a_browser(
    lead_client: Client, targets: Targets, small_simulation: None
) -> None:
    """Every address says no-store, whatever it answers."""
    for name, path in addresses(targets):
        if name not in HARMLESS:
            assert "no-store" in lead_client.get(path)["Cache-Control"], name


def test_no_address_on_any_page_holds_what_names_a_person(
    lead_client: Client, targets: Targets, small_simulation: None
) -> None:
    """Neither name nor number nor birth date, in links and addresses of forms."""
    patient = Patient.objects.get(pk=targets["patient"][0])
    named = (patient.family_name, patient.record_number, str(patient.birth_date))
    seen = 0
    for name, path in addresses(targets):
        page = whole(lead_client.get(path))
        found = re.findall(r'(?:href|action|src|hx-get|hx-post)="([^"]*)"', page)
        seen += len(found)
        for address in [path, *found]:
            assert not any(word in address for word in named), (name, address)
    assert seen > 500


def test_no_form_could_put_a_passphrase_into_an_address(
    lead_client: Client, targets: Targets, small_simulation: None
) -> None:
    """Where scripts fail, too: a form that asks for one is sent by POST."""
    seen = 0
    for name, path in addresses(targets):
        page = whole(lead_client.get(path))
        for opening, inside in re.findall(r"<form([^>]*)>(.*?)</form>", page, re.S):
            if 'type="password"' in inside:
                seen += 1
                assert 'method="post"' in opening, name
    assert seen > 20


def test_the_log_holds_no_patient_and_no_passphrase(
    lead_client: Client,
    targets: Targets,
    small_simulation: None,
    caplog: pytest.LogCaptureFixture,
) -> None:
    """All pages asked for, one form sent, one failed sign-in: the log names nobody."""
    patient = Patient.objects.get(pk=targets["patient"][0])
    with caplog.at_level(logging.INFO):
        for _, path in addresses(targets):
            lead_client.get(path)
        Client().post("/sign-in/", {"username": "x", "password": PASSPHRASE})
        lead_client.post(
            reverse("outcomes:log_contact", args=targets["case"]), {"note": CANARY}
        )
    for word in (patient.family_name, patient.record_number, PASSPHRASE, CANARY):
        assert word not in caplog.text


def test_a_line_break_in_a_name_forges_no_line(
    db: None, caplog: pytest.LogCaptureFixture
) -> None:
    """Neither by the sign-in nor by an address."""
    forged = "x\r\nWARNING forged: signed in"
    with caplog.at_level(logging.DEBUG):
        Client().post("/sign-in/", {"username": forged, "password": "y"})
        Client().get("/no%0d%0aWARNING%20forged/")
    lines = [record.getMessage() for record in caplog.records]
    assert not [line for line in lines if "\n" in line or "\r" in line]
    assert not AuditEvent.objects.filter(by_name__contains="\n").exists()


# 19: what was typed stays text


def plant() -> int:
    """Put the canary into every text of every row; return into how many columns."""
    count = 0
    for app in APPS:
        for model in apps.get_app_config(app).get_models():
            texts = [
                field
                for field in model._meta.concrete_fields
                if isinstance(field, models.CharField | models.TextField)
                if not field.choices and not field.unique and field.name not in KEYS
            ]
            if model in (AuditEvent, Submission):
                continue
            for field in texts:
                filled = model._default_manager.exclude(**{field.name: ""})
                room = field.max_length - 6 if field.max_length else None
                # The row's own number keeps apart what has to differ.
                words = Concat(Value(CANARY[:room]), Cast("pk", models.CharField()))
                filled.update(**{field.name: words})
                count += filled.exists()
    return count


def test_what_was_typed_is_inert_on_every_page(
    lead_client: Client, cast: People, targets: Targets, small_simulation: None
) -> None:
    """Mark-up in any text is shown as text, in the figures' data too."""
    assert cast["clinician"] and cast["lead"]
    case = Patient.objects.get(pk=targets["patient"][0]).episodes.get()
    log_contact(
        case,
        by=cast["lead"],
        tried_on=case.opened_on,
        way="call",
        result="no answer",
        note="x",
    )
    assert plant() >= 12
    shown = 0
    for name, path in addresses(targets):
        page = whole(lead_client.get(path))
        assert "<img src=x" not in page, name
        assert "</script><img" not in page, name
        assert ">49'" not in page, name
        shown += escape(CANARY)[:30] in page or "\\u003C/script" in page
    assert shown >= 20


# 23: failures


def test_a_save_that_fails_half_way_leaves_nothing(
    cast: People,
    targets: Targets,
    signed_in: SignIn,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The audit line fails last: neither row nor form key nor line is there."""
    assert cast["clinician"]
    client = signed_in(cast["clinician"])
    client.raise_request_exception = False
    path = reverse("outcomes:log_contact", args=targets["case"])
    sent = {"tried_on": "2026-06-01", "way": "call", "result": "no answer"}
    before, lines = stored(), AuditEvent.objects.count()
    with monkeypatch.context() as patch:
        patch.setattr(AuditEvent, "save", fail)
        answer = client.post(path, sent)
    assert answer.status_code == 500
    assert "secret detail" not in answer.content.decode()
    assert stored() == before
    assert AuditEvent.objects.count() == lines
    assert client.post(path, sent).status_code == 302


# 27 and 28: configuration and supplies


def test_there_is_no_second_door(production: dict[str, Any]) -> None:
    """No Django admin, no debug pages; no key stands in a file."""
    assert production["DEBUG"] is False
    assert not apps.is_installed("django.contrib.admin")
    assert "admin" not in "".join(str(entry.pattern) for entry in urls.urlpatterns)
    for name in tracked_files():
        if name.endswith((".py", ".yml", ".example")) and not name.startswith("tests"):
            text = (ROOT / name).read_text(encoding="utf-8")
            assert not re.search(
                r"(SECRET|TROCHLEA)_KEY['\"]?\s*[:=]\s*['\"]\w{20}", text
            )


@pytest.mark.parametrize("name", ["requirements.txt", "tests/requirements.txt"])
def test_every_package_is_pinned_with_its_hashes(name: str) -> None:
    """Nothing is installed that was not there when the list was made."""
    text = (ROOT / name).read_text(encoding="utf-8")
    entries = re.split(r"\n(?=[a-zA-Z0-9])", re.sub(r"(?m)^\s*#.*\n", "", text).strip())
    assert len(entries) > 15
    for entry in entries:
        assert re.match(r"[\w.-]+(\[[\w,-]+\])?==[\w.]+", entry), entry[:60]
        assert "--hash=sha256:" in entry, entry[:60]


def test_every_script_is_our_own_host_s() -> None:
    """No page asks another host for anything."""
    foreign = r'(?:src|href)="(?:https?:)?//'
    found = [
        path.name
        for path in (ROOT / "templates").rglob("*.html")
        for tag in re.findall(r"<(?:script|link|img)[^>]*>", path.read_text())
        if re.search(foreign, tag)
    ]
    assert found == []


def test_the_database_refuses_where_the_app_does_not(db: None) -> None:
    """The rules of a row are the database's too."""
    with connection.cursor() as cursor:
        constraints = connection.introspection.get_constraints(
            cursor, Submission._meta.db_table
        )
    assert any(one["unique"] and not one["primary_key"] for one in constraints.values())
