"""The key under which a browser keeps half-typed forms of one person."""

import base64

from django.utils.crypto import salted_hmac

from .models import User

SALT = "clinic.drafts"


def draft_key(user: User) -> str:
    """Return the person's key for drafts, 256 bits in base64.

    Pages carry it only while the person is signed in, so that what lies on a
    shared tablet cannot be read by whoever picks it up.
    """
    digest = salted_hmac(SALT, str(user.pk), algorithm="sha256").digest()
    return base64.b64encode(digest).decode("ascii")
