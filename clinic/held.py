"""A form that arrives after the sign-in expired: held by the page, not dropped.

It is signed, not encrypted: whoever stands before that page can read what was typed
in it, as on the form itself. Encrypting needs a cipher, and neither Python nor Django
has one; keeping the form on the server would store what a stranger sends. So the page
is never cached, and what it holds ends after `MAX_AGE_SECONDS`.
"""

from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.contrib.auth.forms import AuthenticationForm
from django.core import signing
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

SALT = "clinic.held"
MAX_AGE_SECONDS = 12 * 3600


def never_held(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Mark a view whose form carries a passphrase: it is dropped, not held."""
    view.is_never_held = True  # type: ignore[attr-defined]
    return view


def ask_to_sign_in(request: HttpRequest) -> HttpResponse:
    """Answer a form that must not be held: the sign-in page, and nothing of it."""
    context = {
        "form": AuthenticationForm(request),
        "next": request.path,
        "sign_in_url": settings.LOGIN_URL,
    }
    return render(request, "registration/sign_in.html", context, status=401)


def hold_form(request: HttpRequest) -> HttpResponse:
    """Answer with a sign-in page that carries the form that was sent."""
    fields = {
        name: values
        for name, values in request.POST.lists()
        if name != "csrfmiddlewaretoken"
    }
    held = signing.dumps(
        {"path": request.path, "fields": fields}, salt=SALT, compress=True
    )
    context = {
        "form": AuthenticationForm(request),
        "held": held,
        "next": request.path,
        "next_url": request.path,
        "sign_in_url": settings.LOGIN_URL,
    }
    return render(request, "registration/sign_in.html", context, status=401)


def read_held(token: str) -> dict[str, Any] | None:
    """Open a held form; None if it was altered or is too old."""
    try:
        return signing.loads(token, salt=SALT, max_age=MAX_AGE_SECONDS)
    except signing.BadSignature:
        return None


def hand_back(request: HttpRequest, held: dict[str, Any]) -> HttpResponse:
    """Show the held form to the person who typed it, to send it again."""
    typed_by = (held["fields"].get("typed_by") or [""])[0]
    context = {
        "path": held["path"],
        "fields": held["fields"],
        "is_own": typed_by in ("", str(request.user.pk)),
    }
    return render(request, "clinic/held.html", context)
