"""The code of the second step: asked after the passphrase, before anything opens."""

from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render, resolve_url
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_http_methods

from ..access import Capability, can, public
from ..entering import go_on, let_in, who_waits
from ..forms import CodeForm
from ..models import User
from ..posting import posted
from ..second_step import verify
from ..throttling import has_paused, is_paused, note_failure, paused_words

WRONG_CODE = (
    "This code opens nothing: a code of the app counts for thirty seconds and once, "
    "a recovery code once. Wait for the next code, or take another recovery code."
)


def first_page(user: Any) -> str:
    """Return the page that a person starts from: cases, or for others people."""
    if can(user, Capability.SEE_CASES):
        return resolve_url(settings.LOGIN_REDIRECT_URL)
    return resolve_url("people")


def show_code_page(
    request: HttpRequest,
    form: CodeForm,
    *,
    held: str,
    next_page: str,
    status: int = 200,
) -> HttpResponse:
    """Ask for the code, carrying the held form and the way back."""
    context = {"form": form, "held": held, "next": next_page}
    return render(request, "registration/enter_code.html", context, status=status)


@public("after the passphrase, before the sign-in")
@require_http_methods(["GET", "POST"])
def enter_code(request: HttpRequest) -> HttpResponse:
    """Sign in with the code; the passphrase was typed a moment ago."""
    person = who_waits(request)
    if person is None:
        return redirect("sign_in")
    form = CodeForm(posted(request))
    held, target = request.POST.get("held", ""), request.POST.get("next", "")
    if form.is_valid() and (way := open_with(request, person, form)):
        let_in(request, person, way=way, has_code=True)
        return go_on(request, held=held, target=own_page(person, target))
    status = 422 if form.is_bound else 200
    return show_code_page(request, form, held=held, next_page=target, status=status)


def open_with(request: HttpRequest, person: User, form: CodeForm) -> str | None:
    """Use the code up; a wrong one counts as a failed sign-in. None: not let in."""
    if not is_paused(request, person):
        if way := verify(person, form.cleaned_data["code"]):
            return way
        note_failure(request, person)
    form.add_error("code", paused_words() if has_paused(request) else WRONG_CODE)
    return None


def own_page(person: Any, wanted: str) -> str:
    """Return a path of this installation, or the first page where it is none.

    Everybody who opens the bare address is sent to sign in from there, also those who
    have no caseload: that path stands for their own first page.
    """
    is_own = wanted.startswith("/") and url_has_allowed_host_and_scheme(
        wanted, allowed_hosts=None
    )
    is_default = wanted == resolve_url(settings.LOGIN_REDIRECT_URL)
    return wanted if is_own and not is_default else first_page(person)
