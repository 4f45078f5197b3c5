"""Forms for signing in and for people."""

from typing import Any

from django import forms
from django.conf import settings
from django.contrib.auth.forms import AuthenticationForm
from django.core.exceptions import ValidationError

from .access import Role
from .models import Site, User

LOOPBACK_ADDRESSES = {"127.0.0.1", "::1"}


class SignInForm(AuthenticationForm):
    """Username and passphrase; demo sign-ins work on this machine only."""

    error_messages = {
        "invalid_login": (
            "This user name and passphrase do not match. Check both and try again; "
            "if you forgot the passphrase, ask your clinic lead or administrator "
            "for a new one-time sign-in."
        ),
        "inactive": "This user name and passphrase do not match.",
        "demo": "Demo sign-ins work only on the machine that runs the demo.",
    }

    def confirm_login_allowed(self, user: Any) -> None:
        """Refuse the deactivated, and demo people from elsewhere."""
        super().confirm_login_allowed(user)
        address = self.request.META.get("REMOTE_ADDR") if self.request else None
        is_here = address in LOOPBACK_ADDRESSES and settings.IS_LOOPBACK_ONLY
        if user.site.is_demo and not is_here:
            raise ValidationError(self.error_messages["demo"], code="demo")


class PersonForm(forms.ModelForm):
    """A new person of the site."""

    class Meta:
        model = User
        fields = ("first_name", "last_name", "username", "role")
        labels = {
            "first_name": "Given name",
            "last_name": "Family name",
            "username": "User name",
        }
        help_texts = {
            "username": "For example the first letter and the family name: a.marlin"
        }

    def __init__(self, *args: Any, roles: list[Role], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["role"].choices = [(role.value, role.label) for role in roles]  # type: ignore[attr-defined]


class SiteForm(forms.ModelForm):
    """A new site with its first person."""

    class Meta:
        model = Site
        fields = ("name",)
        labels = {"name": "Name of the clinic"}


class SetUpForm(SiteForm):
    """The very first site, opened with the set-up code of this installation."""

    code = forms.CharField(
        label="Set-up code",
        help_text="In the file setup-code of the data folder, on the server.",
    )
    username = forms.CharField(
        label="Your user name",
        max_length=150,
        validators=User._meta.get_field("username").validators,
    )
