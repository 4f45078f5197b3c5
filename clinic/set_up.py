"""The set-up of an installation: its code, and whether it is over."""

import secrets
from pathlib import Path

from django.conf import settings
from django.contrib.auth.hashers import UNUSABLE_PASSWORD_PREFIX

from .models import Site, User


def set_up_code() -> str:
    """Return this installation's set-up code, kept in the data folder."""
    path = Path(settings.DATA_DIR) / "setup-code"
    if not path.exists():
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        path.touch(mode=0o600)
        path.write_text(secrets.token_urlsafe(12), encoding="ascii")
    return path.read_text(encoding="ascii").strip()


def is_set_up() -> bool:
    """Tell whether there is a site, and somebody who can sign in to one.

    Until the first person has chosen a passphrase, whoever lost the way between the
    two pages can come back and go on.
    """
    if not Site.objects.exists():
        return False
    people = User.objects.filter(is_active=True)
    without = people.filter(password__startswith=UNUSABLE_PASSWORD_PREFIX)
    return not people.exists() or people.count() > without.count()


def first_person(username: str) -> User | None:
    """Return the person of that name who waits for their first sign-in."""
    waiting = User.objects.filter(password__startswith=UNUSABLE_PASSWORD_PREFIX)
    return waiting.filter(username=username, is_active=True).first()
