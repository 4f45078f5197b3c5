"""Signing in and out, and the one-time sign-in."""

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import views as auth_views
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, resolve_url
from django.views.decorators.debug import sensitive_post_parameters

from .. import audit
from ..access import Capability, public, requires
from ..entering import BACKEND, ask_for_code, go_on, let_in, note_signed_in
from ..forms import (
    ChangePassphraseForm,
    CodeForm,
    FirstPassphraseForm,
    SignInForm,
    may_sign_in_from,
)
from ..held import never_held
from ..models import AuditEvent, User
from ..own_sessions import OPEN_SESSION, end_sessions
from ..second_step import has_second_step
from ..throttling import has_paused, paused_words
from .entering_code import first_page, show_code_page

NEXT_NAME = "next_name"


class SignIn(auth_views.LoginView):
    """Ask for user name and passphrase, then hand back what was being typed."""

    template_name = "registration/sign_in.html"
    form_class = SignInForm
    redirect_authenticated_user = False

    def form_valid(self, form: Any) -> HttpResponse:
        """Sign in and go on, or ask for the code of the second step."""
        person, held = form.get_user(), self.request.POST.get("held", "")
        if has_second_step(person):
            ask_for_code(self.request, person)
            target = self.request.POST.get("next", "")
            return show_code_page(self.request, CodeForm(), held=held, next_page=target)
        let_in(self.request, person, way="passphrase", has_code=False)
        return go_on(self.request, held=held, target=self.get_success_url())

    def form_invalid(self, form: Any) -> HttpResponse:
        """Say that there is a pause where one stands or begins."""
        if has_paused(self.request):
            form.errors.clear()
            form.add_error(None, paused_words())
        return super().form_invalid(form)

    def get_initial(self) -> dict[str, Any]:
        """Fill in the name of the person that the device was handed to."""
        return {"username": self.request.session.pop(NEXT_NAME, "")}

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
    post_reset_login_backend = BACKEND

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
        super().form_valid(form)
        AuditEvent.objects.record(audit.PASSPHRASE_CHANGED, by=form.user)
        note_signed_in(self.request, form.user, way="one-time sign-in")
        return go_on(self.request, held="", target=self.get_success_url())


class SignOut(auth_views.LogoutView):
    """End the session and clear what the browser kept; or hand the device over."""

    template_name = "registration/signed_out.html"

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        """Sign out on the record, and on to the sign-in of the person who is next."""
        next_name = ""
        if isinstance(request.user, User):
            next_name = name_of_next(request.user, request.POST.get("next_person", ""))
            act = audit.PERSON_SWITCHED if next_name else audit.SIGNED_OUT
            AuditEvent.objects.record(act, by=request.user)
            end_sessions(request.user, only=request.session.get(OPEN_SESSION, 0))
        response: HttpResponse = super().post(request, *args, **kwargs)
        if next_name:
            request.session[NEXT_NAME] = next_name
            response = redirect("sign_in")
        response["Clear-Site-Data"] = '"cache", "storage"'
        return response


def name_of_next(person: User, chosen: str) -> str:
    """Return the user name of the colleague chosen at the switch, or nothing."""
    if not (chosen.isascii() and chosen.isdigit()):
        return ""
    found = person.site.people.filter(pk=int(chosen), is_active=True).first()
    return found.get_username() if found else ""


class ChangePassphrase(auth_views.PasswordChangeView):
    """Replace one's own passphrase; other sessions of the person end."""

    template_name = "registration/change_passphrase.html"
    form_class = ChangePassphraseForm

    def form_valid(self, form: Any) -> HttpResponse:
        """Keep the passphrase on record; every other session of the person ends."""
        with transaction.atomic():
            response = super().form_valid(form)
            end_sessions(form.user, but=self.request.session.get(OPEN_SESSION))
            AuditEvent.objects.record(audit.PASSPHRASE_CHANGED, by=form.user)
        return response

    def get_success_url(self) -> str:
        """Go back to the person's own first page, saying that it is done."""
        messages.success(
            self.request,
            "Your passphrase is changed. You are signed out on every other device.",
        )
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
