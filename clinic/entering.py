"""What follows on a passphrase: the second step, the record, and the way on."""

from typing import Any

from django.contrib.auth import login
from django.contrib.auth.signals import user_login_failed
from django.dispatch import receiver
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from . import audit
from .held import hand_back, read_held
from .middleware import MUST_SET_UP, SIGNED_IN_AT
from .models import AuditEvent, User
from .second_step import must_set_up_now
from .throttling import has_paused, source_of

BACKEND = "django.contrib.auth.backends.ModelBackend"
WAITING, HELD_AFTER, HAS_CODE = "waits_for_code", "held_after", "signed_in_with_code"
# Project assumption: long enough to fetch the telephone, too short to walk away.
WAITING_SECONDS = 5 * 60


@receiver(user_login_failed)
def note_on_record(
    sender: Any, credentials: dict[str, Any], request: Any = None, **_: Any
) -> None:
    """Put a failed sign-in on record; what was typed is not kept.

    A name that nobody has may be a passphrase in the wrong field. Known or not, one
    line is written, so that the time does not tell who exists.
    """
    source = source_of(request) if request else None
    person = User.objects.filter(username=credentials.get("username")).first()
    AuditEvent.objects.record(
        audit.SIGN_IN_FAILED,
        by=person,
        source=source,
        step="second step" if "password" not in credentials else "passphrase",
        is_paused=has_paused(request),
    )


def ask_for_code(request: HttpRequest, person: User) -> None:
    """Remember who has typed the right passphrase; nobody is signed in yet."""
    request.session.cycle_key()
    request.session[WAITING] = {
        "person": person.pk,
        "at": timezone.now().timestamp(),
        "of": person.get_session_auth_hash(),
    }


def who_waits(request: HttpRequest) -> User | None:
    """Return who typed the passphrase a moment ago and owes the code."""
    waiting = request.session.get(WAITING) or {}
    since = timezone.now().timestamp() - waiting.get("at", 0)
    if not waiting or not 0 <= since < WAITING_SECONDS:
        return None
    person = User.objects.filter(pk=waiting["person"], is_active=True).first()
    is_same = person and person.get_session_auth_hash() == waiting["of"]
    return person if is_same else None


def let_in(request: HttpRequest, person: User, *, way: str, has_code: bool) -> None:
    """Sign a person in under a new session key, and put it on record."""
    request.session.pop(WAITING, None)
    login(request, person, backend=BACKEND)
    note_signed_in(request, person, way=way)
    request.session[HAS_CODE] = has_code


def note_signed_in(request: HttpRequest, person: User, *, way: str) -> None:
    """Note when the session began and what it still owes; put it on record."""
    request.session[SIGNED_IN_AT] = timezone.now().timestamp()
    request.session[MUST_SET_UP] = must_set_up_now(person)
    AuditEvent.objects.record(audit.SIGNED_IN, by=person, way=way)


def go_on(request: HttpRequest, *, held: str, target: str) -> HttpResponse:
    """Lead to the second step that is owed, to the held form, or to the page."""
    if request.session.get(MUST_SET_UP):
        if held:
            request.session[HELD_AFTER] = held
        return redirect("second_step")
    form = read_held(held)
    return hand_back(request, form) if form else redirect(target)
