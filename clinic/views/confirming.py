"""The page that asks for the passphrase of whoever is signed in, once more."""

from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.debug import sensitive_post_parameters

from .. import audit
from ..access import Capability, requires
from ..forms import ConfirmForm
from ..fresh import FRESH_MINUTES, note_confirmed
from ..held import never_held
from ..middleware import open_before_set_up
from ..models import AuditEvent
from ..posting import posted
from .entering_code import first_page, own_page

# Project assumption: whoever guesses at an unlocked tablet is signed out after this.
MOST_ATTEMPTS = 5
FAILED = "passphrase_attempts_failed"


@open_before_set_up
@requires(Capability.USE_OWN_ACCOUNT)
@never_held
@sensitive_post_parameters("passphrase")
def confirm_passphrase(request: HttpRequest) -> HttpResponse:
    """Ask for the passphrase again, then go on to the page it was asked for."""
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    after = own_page(request.user, wanted)
    form = ConfirmForm(posted(request), person=request.user)
    if form.is_valid():
        AuditEvent.objects.record(audit.PASSPHRASE_CONFIRMED, by=form.person)
        request.session.pop(FAILED, None)
        request.session.cycle_key()
        note_confirmed(request)
        return redirect(after)
    if form.is_bound and form.is_wrong:
        AuditEvent.objects.record(audit.PASSPHRASE_NOT_CONFIRMED, by=form.person)
        if failed_too_often(request):
            logout(request)
            return redirect("sign_in")
    context = {
        "form": form,
        "next": after,
        "first_page": first_page(request.user),
        "minutes": FRESH_MINUTES,
    }
    status = 422 if form.is_bound else 200
    return render(request, "registration/confirm.html", context, status=status)


def failed_too_often(request: HttpRequest) -> bool:
    """Count one more wrong passphrase and tell whether it was the last allowed."""
    count = request.session.get(FAILED, 0) + 1
    request.session[FAILED] = count
    return bool(count >= MOST_ATTEMPTS)
