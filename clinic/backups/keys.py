"""The clinic's key pair: the server seals with one half and cannot open.

The format is age (age-encryption.org/v1) through pyrage, its bindings for Python.
"""

from pathlib import Path

import pyrage
from django.conf import settings
from pyrage import x25519

from .header import BackupError


def kept_file() -> Path:
    """Return where the embedded installation keeps the public half."""
    return Path(settings.DATA_DIR) / "backup_public_key"


def new_pair() -> tuple[str, str]:
    """Return a new secret and its public half, as text."""
    secret = x25519.Identity.generate()
    return str(secret), str(secret.to_public())


def public_halves() -> list[x25519.Recipient]:
    """Return the keys that a backup is sealed for; raises BackupError without one."""
    named = settings.BACKUP_PUBLIC_KEYS
    if not named and kept_file().exists():
        named = kept_file().read_text(encoding="ascii").split()
    if not named:
        raise BackupError(
            "There is no key to seal a backup with. Make one: manage.py backup_key"
        )
    try:
        return [x25519.Recipient.from_str(key) for key in named]
    except pyrage.RecipientError as error:
        raise BackupError(
            "TROCHLEA_BACKUP_KEY holds no public key: it begins with age1 and is one "
            "of the two lines that manage.py backup_key prints."
        ) from error


def secret_half(text: str) -> x25519.Identity:
    """Read the clinic's secret key; raises BackupError where it is none."""
    lines = [line.strip() for line in text.splitlines()]
    keys = [line for line in lines if line.startswith("AGE-SECRET-KEY-")]
    if len(keys) != 1:
        raise BackupError(
            "That is no backup key: it is one line that begins with AGE-SECRET-KEY-."
        )
    try:
        return x25519.Identity.from_str(keys[0])
    except pyrage.IdentityError as error:
        raise BackupError("That backup key has a slip of the pen in it.") from error
