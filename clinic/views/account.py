"""One's own sign-in: the second step, recovery codes, sessions, handing over."""

from typing import Any

import segno
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from .. import audit, second_step
from ..access import Capability, requires
from ..entering import HELD_AFTER
from ..forms import CodeForm
from ..fresh import FRESH_MINUTES, confirm_address, is_fresh, requires_fresh
from ..held import hand_back, read_held
from ..htmx import AppRequest
from ..middleware import MUST_SET_UP, SIGNED_IN_AT, open_before_set_up
from ..models import AuditEvent
from ..own_sessions import OPEN_SESSION, end_sessions, sessions_of
from ..posting import posted
from .entering_code import first_page

NEW_SECRET = "second_step_secret"  # noqa: S105  (a key of the session)


@requires(Capability.USE_OWN_ACCOUNT)
def account(request: AppRequest) -> HttpResponse:
    """Show how one signs in, and where one is signed in."""
    has_step = second_step.has_second_step(request.user)
    context = {
        "has_step": has_step,
        "codes_left": second_step.recovery_codes_left(request.user),
        "is_needed": second_step.needs_second_step(request.user),
        "sessions": sessions_of(request.user),
        "here": request.session.get(OPEN_SESSION),
    }
    return render(request, "clinic/account.html", context)


def has_just_signed_in(request: AppRequest) -> bool:
    """Tell whether the passphrase was typed within the last minutes, at any page."""
    began = request.session.get(SIGNED_IN_AT, 0)
    is_recent = 0 <= timezone.now().timestamp() - began < FRESH_MINUTES * 60
    return is_recent or is_fresh(request)


@open_before_set_up
@requires(Capability.USE_OWN_ACCOUNT)
@require_http_methods(["GET", "POST"])
def set_up_second_step(request: AppRequest) -> HttpResponse:
    """Show a secret to scan, and keep it once a code of the app proves it."""
    if second_step.has_second_step(request.user):
        return redirect("account")
    if not has_just_signed_in(request):
        return redirect(confirm_address(request.path))
    secret = request.session.setdefault(NEW_SECRET, second_step.new_secret())
    form = CodeForm(posted(request))
    if form.is_valid():
        typed = form.cleaned_data["code"]
        codes = second_step.set_up(request.user, secret=secret, code=typed)
        if codes:
            request.session.pop(NEW_SECRET)
            request.session[MUST_SET_UP] = False
            request.session.cycle_key()
            return show_codes(request, codes)
        form.add_error(
            "code", "The app shows another code now. Type the one that you see."
        )
    return render(request, "clinic/second_step.html", scan(request, form, secret))


def scan(request: AppRequest, form: CodeForm, secret: str) -> dict[str, Any]:
    """Return what the page shows: the code to scan, and the same to type."""
    address = second_step.device_for(request.user, secret).config_url
    return {
        "form": form,
        "picture": segno.make(address, micro=False).svg_data_uri(scale=5, light="#fff"),
        "typed": second_step.typed_secret(secret),
        "is_owed": request.session.get(MUST_SET_UP, False),
    }


def show_codes(request: AppRequest, codes: list[str]) -> HttpResponse:
    """Show the recovery codes, this once."""
    return render(request, "clinic/recovery_codes.html", {"codes": codes})


@requires(Capability.USE_OWN_ACCOUNT)
@require_POST
def go_on(request: AppRequest) -> HttpResponse:
    """Go on from the codes: to the form that was held meanwhile, or to one's page."""
    held = read_held(request.session.pop(HELD_AFTER, ""))
    return hand_back(request, held) if held else redirect(first_page(request.user))


@requires(Capability.USE_OWN_ACCOUNT)
@require_POST
@requires_fresh(back_to="account")
def renew_codes(request: AppRequest) -> HttpResponse:
    """Replace the recovery codes and show the new ones once."""
    if not second_step.has_second_step(request.user):
        return redirect("account")
    return show_codes(request, second_step.renew_codes(request.user))


@requires(Capability.USE_OWN_ACCOUNT)
@require_POST
@requires_fresh(back_to="account")
def remove_second_step(request: AppRequest) -> HttpResponse:
    """Give the second step up, unless the clinic asks for it."""
    if second_step.needs_second_step(request.user):
        messages.error(request, "Your clinic asks for the second step in your role.")
    elif second_step.has_second_step(request.user):
        second_step.remove(request.user)
        messages.success(request, "You sign in with the passphrase alone now.")
    return redirect("account")


@requires(Capability.USE_OWN_ACCOUNT)
@require_POST
def end_session(request: AppRequest, pk: int) -> HttpResponse:
    """End one session of one's own; 0 stands for all but this one."""
    if pk:
        get_object_or_404(request.user.open_sessions, pk=pk)
        ended = end_sessions(request.user, only=pk)
    else:
        ended = end_sessions(request.user, but=request.session.get(OPEN_SESSION))
    if ended:
        AuditEvent.objects.record(audit.SESSION_ENDED, by=request.user, sessions=ended)
        messages.success(request, "Ended. That device is asked to sign in again.")
    return redirect("account")


@requires(Capability.USE_OWN_ACCOUNT)
def switch_person(request: AppRequest) -> HttpResponse:
    """Ask who takes the device; it signs out and goes on to their sign-in."""
    others = request.user.site.people.filter(is_active=True).exclude(pk=request.user.pk)
    people = others.order_by("last_name", "first_name", "username")
    return render(request, "clinic/switch_person.html", {"people": people})
