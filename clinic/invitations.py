"""Sites and people: made from the browser or the command line, entered by a link."""

from django.contrib.auth.tokens import default_token_generator
from django.core.exceptions import ValidationError
from django.db import transaction
from django.urls import reverse
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode

from . import audit
from .models import AuditEvent, Site, User
from .own_sessions import end_sessions
from .second_step import forget_rows

HOLDS_DEMONSTRATION = (
    "This database holds the demonstration, and a real clinic does not come beside "
    "it. Start with an empty folder: set TROCHLEA_DATA to its path, then run "
    'manage.py add_site "Name of the clinic" again.'
)


@transaction.atomic
def add_person(
    *, site: Site, username: str, role: str, by: User | None = None, **names: str
) -> User:
    """Add a person without a passphrase; they choose one at the one-time sign-in."""
    person = User(site=site, username=username, role=role, **names)
    person.set_unusable_password()
    person.full_clean(exclude=["password"])
    person.save()
    AuditEvent.objects.record(
        audit.PERSON_INVITED, by=by or person, person=username, role=role
    )
    return person


@transaction.atomic
def add_site(name: str, *, by: User | None = None) -> Site:
    """Add a site; the name must be new. Raises ValidationError.

    What a demonstration's administrator adds is part of the demonstration; a real
    clinic does not come into its database.
    """
    if not (by and by.site.is_demo) and Site.objects.filter(is_demo=True).exists():
        raise ValidationError(HOLDS_DEMONSTRATION)
    site = Site(name=name.strip(), is_demo=bool(by and by.site.is_demo))
    site.full_clean()
    site.save()
    if by:
        AuditEvent.objects.record(audit.SITE_ADDED, by=by, name=site.name)
    return site


def one_time_path(person: User) -> str:
    """Return the address of the one-time sign-in; using it makes it useless."""
    uid = urlsafe_base64_encode(force_bytes(person.pk))
    token = default_token_generator.make_token(person)
    return reverse("first_sign_in", args=[uid, token])


@transaction.atomic
def reset_sign_in(person: User, *, by: User) -> None:
    """Withdraw passphrase and second step; only a one-time sign-in opens the door."""
    person.set_unusable_password()
    person.save(update_fields=["password"])
    forget_rows(person)
    end_sessions(person)
    AuditEvent.objects.record(audit.SIGN_IN_RESET, by=by, person=person.username)


@transaction.atomic
def let_back_in(person: User, *, by: User) -> None:
    """Let a deactivated person sign in again."""
    person.is_active = True
    person.save(update_fields=["is_active"])
    AuditEvent.objects.record(audit.PERSON_REACTIVATED, by=by, person=person.username)
