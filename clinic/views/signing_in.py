"""Signing in and out, and the one-time sign-in."""

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import views as auth_views
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import resolve_url
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters

from .. import audit
from ..access import Capability, can, public, requires
from ..forms import (
    ChangePassphraseForm,
    FirstPassphraseForm,
    SignInForm,
    may_sign_in_from,
)
from ..held import hand_back, never_held, read_held
from ..middleware import SIGNED_IN_AT
from ..models import AuditEvent, User


def first_page(user: Any) -> str:
    """Return the page that a person starts from: cases, or for others people."""
    if can(user, Capability.SEE_CASES):
        return resolve_url(settings.LOGIN_REDIRECT_URL)
    return resolve_url("people")


class SignIn(auth_views.LoginView):
    """Ask for user name and passphrase, then hand back what was being typed."""

    template_name = "registration/sign_in.html"
    form_class = SignInForm
    redirect_authenticated_user = False

    def form_valid(self, form: Any) -> HttpResponse:
        """Sign in, note when, and return to the page or to the held form."""
        response = super().form_valid(form)
        self.request.session[SIGNED_IN_AT] = timezone.now().timestamp()
        AuditEvent.objects.record(audit.SIGNED_IN, by=form.get_user())
        held = read_held(self.request.POST.get("held", ""))
        return hand_back(self.request, held) if held else response

    def get_success_url(self) -> str:
        """Go back to where the person was, or to their own first page.

        Everybody who opens the bare address is sent to sign in from there, also
        those who have no caseload.
        """
        target: str = super().get_success_url()
        is_default = target == resolve_url(settings.LOGIN_REDIRECT_URL)
        return first_page(self.request.user) if is_default else target

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        """Carry a held form through a failed attempt."""
        context = super().get_context_data(**kwargs)
        return {**context, "held": self.request.POST.get("held", "")}


class FirstSignIn(auth_views.PasswordResetConfirmView):
    """Choose a passphrase through a link that works once."""

    template_name = "registration/set_passphrase.html"
    form_class = FirstPassphraseForm
    post_reset_login = True

    def get_user(self, uidb64: str) -> User | None:
        """Return the invited person; nobody for a link of the deactivated."""
        person = super().get_user(uidb64)
        if person is None or not person.is_active:
            return None
        if not may_sign_in_from(self.request, person):
            raise PermissionDenied(SignInForm.error_messages["demo"])
        return person

    def get_success_url(self) -> str:
        """Start at the person's own first page."""
        return first_page(self.request.user)

    def form_valid(self, form: Any) -> HttpResponse:
        """Keep the passphrase, sign in, note when."""
        response = super().form_valid(form)
        self.request.session[SIGNED_IN_AT] = timezone.now().timestamp()
        AuditEvent.objects.record(audit.SIGNED_IN, by=form.user)
        return response


class SignOut(auth_views.LogoutView):
    """End the session and clear what the browser kept."""

    template_name = "registration/signed_out.html"

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        """Sign out on the record."""
        if request.user.is_authenticated:
            AuditEvent.objects.record(audit.SIGNED_OUT, by=request.user)
        response = super().post(request, *args, **kwargs)
        response["Clear-Site-Data"] = '"cache", "storage"'
        return response


class ChangePassphrase(auth_views.PasswordChangeView):
    """Replace one's own passphrase; other sessions of the person end."""

    template_name = "registration/change_passphrase.html"
    form_class = ChangePassphraseForm

    def get_success_url(self) -> str:
        """Go back to the person's own first page, saying that it is done."""
        messages.success(self.request, "Your passphrase is changed.")
        return first_page(self.request.user)


# Django types its own views more widely than an answer that was rendered.
sign_in: Any = SignIn.as_view()
first_sign_in: Any = FirstSignIn.as_view()
sign_out: Any = SignOut.as_view()
change_passphrase: Any = ChangePassphrase.as_view()

sign_in = public("the way in")(sensitive_post_parameters("password")(sign_in))
first_sign_in = public("opened by a one-time link")(first_sign_in)
sign_out = public("ends the session")(sign_out)
change_passphrase = requires(Capability.USE_OWN_ACCOUNT)(never_held(change_passphrase))
