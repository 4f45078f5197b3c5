"""Forms for signing in and for people."""

from typing import Any

from django import forms
from django.conf import settings
from django.contrib.auth import forms as auth_forms
from django.contrib.auth import password_validation
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.http import HttpRequest

from .access import Role
from .models import Site, User

LOOPBACK_ADDRESSES = {"127.0.0.1", "::1"}


class SignInForm(auth_forms.AuthenticationForm):
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
        if not may_sign_in_from(self.request, user):
            raise ValidationError(self.error_messages["demo"], code="demo")


def may_sign_in_from(request: HttpRequest | None, user: User) -> bool:
    """Tell whether a person may sign in from where the request came from."""
    if not user.site.is_demo:
        return True
    address = request.META.get("REMOTE_ADDR") if request else None
    return settings.IS_LOOPBACK_ONLY and address in LOOPBACK_ADDRESSES


class CodeForm(forms.Form):
    """A code of the authenticator app, or a recovery code."""

    code = forms.CharField(
        label="Code",
        max_length=20,
        widget=forms.TextInput(
            attrs={
                "autocomplete": "one-time-code",
                "inputmode": "text",
                "autocapitalize": "off",
                "spellcheck": "false",
                "data-focus": True,
            }
        ),
        error_messages={"required": "Type the code that the app shows."},
    )


class SignInPolicyForm(forms.Form):
    """Which roles need the second step, and how long they have to set it up."""

    roles = forms.MultipleChoiceField(
        label="Asked of",
        choices=Role.choices,
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="Everybody may set it up; these roles have to.",
    )
    grace_days = forms.IntegerField(
        label="Days to set it up",
        min_value=0,
        max_value=60,
        help_text="From the day a person was invited. After that, nothing else opens "
        "until it is set up. 0 asks at the first sign-in.",
    )


class NewPassphrase(auth_forms.SetPasswordMixin):
    """A new passphrase typed twice, in this project's words."""

    error_messages = {
        "password_mismatch": "The two passphrases differ. Type both again."
    }

    def name_fields(self: Any) -> None:
        """Label both fields."""
        self.fields["new_password1"].label = "New passphrase"
        self.fields["new_password2"].label = "The same passphrase again"

    def validate_password_for_user(
        self: Any, user: User, password_field_name: str = ""
    ) -> None:
        """Put the rules' complaints at the first field, as being about a passphrase."""
        typed = self.cleaned_data.get(password_field_name)
        if not typed:
            return
        try:
            password_validation.validate_password(typed, user)
        except ValidationError as error:
            words = [text.replace("password", "passphrase") for text in error.messages]
            self.add_error("new_password1", words)


class FirstPassphraseForm(NewPassphrase, auth_forms.SetPasswordForm):
    """The passphrase that a one-time sign-in asks for."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.name_fields()


class ChangePassphraseForm(NewPassphrase, auth_forms.PasswordChangeForm):
    """One's own new passphrase, with the old one as proof."""

    error_messages = {
        **NewPassphrase.error_messages,
        "password_incorrect": "This is not your present passphrase. Type it again.",
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.name_fields()
        self.fields["old_password"].label = "Present passphrase"


class ConfirmForm(forms.Form):
    """The passphrase of whoever is signed in, typed once more."""

    passphrase = forms.CharField(
        label="Your passphrase",
        strip=False,
        widget=forms.PasswordInput(
            attrs={"autocomplete": "current-password", "data-focus": True}
        ),
        error_messages={"required": "Type the passphrase that you sign in with."},
    )

    def __init__(self, *args: Any, person: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.person: User = person
        self.is_wrong = False

    def clean_passphrase(self) -> str:
        """Refuse what is not the person's passphrase."""
        typed: str = self.cleaned_data["passphrase"]
        if not self.person.check_password(typed):
            self.is_wrong = True
            raise ValidationError(
                "This is not your passphrase. Nothing was done; type it again."
            )
        return typed


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
        error_messages = {
            "username": {"unique": "This user name is taken. Choose another."}
        }

    def __init__(self, *args: Any, roles: list[Role], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["first_name"].required = self.fields["last_name"].required = True
        self.fields["role"].choices = [(role.value, role.label) for role in roles]  # type: ignore[attr-defined]


class DeactivateForm(forms.Form):
    """Why a person no longer signs in, and what becomes of their cases."""

    HAND_OVER, LEAVE = "hand over", "leave"
    cases = forms.ChoiceField(
        label="Their open cases",
        choices=[
            (HAND_OVER, "Hand them all over to the person chosen below"),
            (LEAVE, "Leave them where they are; the clinic lead looks after them"),
        ],
        widget=forms.RadioSelect,
    )
    to = forms.ModelChoiceField(
        queryset=User.objects.none(),
        label="Hand over to",
        required=False,
        empty_label="Nobody chosen",
    )
    reason = forms.CharField(
        max_length=200,
        label="Reason",
        help_text="It stays on record with each case. For example: left the clinic.",
    )

    def __init__(
        self, *args: Any, has_cases: bool, people: QuerySet[User], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["to"].queryset = people  # type: ignore[attr-defined]
        if not has_cases:
            del self.fields["cases"], self.fields["to"]

    def clean(self) -> dict[str, Any]:
        """Ask for the one who takes the cases, where they are handed over."""
        typed = super().clean() or self.cleaned_data
        is_handing_over = typed.get("cases") == self.HAND_OVER
        if is_handing_over and not typed.get("to") and "to" not in self.errors:
            self.add_error("to", "Choose who takes the cases.")
        return typed

    @property
    def decision(self) -> dict[str, Any]:
        """Return the reason, and who takes the cases if somebody does."""
        typed = self.cleaned_data
        is_handing_over = typed.get("cases") == self.HAND_OVER
        return {
            "reason": typed["reason"],
            "hand_to": typed["to"] if is_handing_over else None,
        }


class SiteForm(forms.ModelForm):
    """A new site."""

    class Meta:
        model = Site
        fields = ("name",)
        labels = {"name": "Name of the clinic"}
        error_messages = {"name": {"unique": "There is a clinic of this name already."}}


class SetUpForm(forms.Form):
    """The very first site, opened with the set-up code of this installation."""

    name = forms.CharField(label="Name of the clinic", max_length=120)
    code = forms.CharField(
        label="Set-up code",
        help_text="In the file setup-code of the data folder, on the server.",
    )
    username = forms.CharField(
        label="Your user name",
        max_length=150,
        validators=User._meta.get_field("username").validators,
    )
