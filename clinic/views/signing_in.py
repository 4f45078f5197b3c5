"""Signing in and out, and the one-time sign-in."""

from typing import Any

from django.contrib.auth import views as auth_views
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters

from .. import audit
from ..access import Capability, public, requires
from ..forms import SignInForm
from ..held import hand_back, read_held
from ..middleware import SIGNED_IN_AT
from ..models import AuditEvent


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

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        """Carry a held form through a failed attempt."""
        context = super().get_context_data(**kwargs)
        return {**context, "held": self.request.POST.get("held", "")}


class FirstSignIn(auth_views.PasswordResetConfirmView):
    """Choose a passphrase through a link that works once."""

    template_name = "registration/set_passphrase.html"
    post_reset_login = True

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
            AuditEvent.objects.record(audit.SIGNED_OUT, by=request.user)  # type: ignore[arg-type]
        response = super().post(request, *args, **kwargs)
        response["Clear-Site-Data"] = '"cache", "storage"'
        return response


class ChangePassphrase(auth_views.PasswordChangeView):
    """Replace one's own passphrase; other sessions of the person end."""

    template_name = "registration/change_passphrase.html"


sign_in = public("the way in")(
    sensitive_post_parameters("password")(SignIn.as_view())
)
first_sign_in = public("opened by a one-time link")(
    FirstSignIn.as_view(success_url="/")
)
sign_out = public("ends the session")(SignOut.as_view())
change_passphrase = requires(Capability.USE_OWN_ACCOUNT)(
    ChangePassphrase.as_view(success_url="/")
)
