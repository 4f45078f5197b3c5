"""The second step of a sign-in: a code of an authenticator app, or a recovery code.

django-otp keeps the step of the last code, so that none opens twice (RFC 6238). A
recovery code is kept as a keyed digest and goes when it is used.
"""

from base64 import b32encode
from binascii import unhexlify
from datetime import timedelta
from typing import Any

from django.db import transaction
from django.utils import timezone
from django.utils.crypto import salted_hmac
from django_otp.oath import TOTP
from django_otp.plugins.otp_static.models import StaticDevice, StaticToken
from django_otp.plugins.otp_totp.models import TOTPDevice, default_key

from . import audit
from .models import AuditEvent, SignInPolicy, User

SALT = "clinic.recovery"
# As many as fit on a card; common practice, no source.
RECOVERY_CODES = 10
BY_APP, BY_RECOVERY = "code of the app", "recovery code"


def new_secret() -> str:
    """Return a fresh secret to share with an app: 160 bits, as RFC 4226 advises."""
    return str(default_key())


def device_for(person: User, secret: str) -> TOTPDevice:
    """Return the device that a secret makes, not stored."""
    return TOTPDevice(user=person, name="app", key=secret, confirmed=True)


def typed_secret(secret: str) -> str:
    """Return the secret as a person types it into an app, in groups of four."""
    text = b32encode(unhexlify(secret)).decode("ascii")
    return " ".join(text[at : at + 4] for at in range(0, len(text), 4))


def app_of(person: User) -> TOTPDevice | None:
    """Return the person's app, locked until the transaction ends."""
    found = TOTPDevice.objects.select_for_update()
    return found.filter(user=person, confirmed=True).first()


def has_second_step(person: User) -> bool:
    """Tell whether a person set up the second step."""
    return bool(TOTPDevice.objects.filter(user=person, confirmed=True).exists())


def recovery_codes_left(person: User) -> int:
    """Count the recovery codes that were not used."""
    return int(StaticToken.objects.filter(device__user=person).count())


@transaction.atomic
def verify(person: User, typed: str) -> str | None:
    """Use up a code and return which kind it was; None if it opens nothing."""
    code = "".join(letter for letter in typed.casefold() if letter.isalnum())
    app = app_of(person)
    if app and code.isascii() and code.isdigit() and len(code) == app.digits:
        return BY_APP if app.verify_token(code) else None
    kept = StaticDevice.objects.select_for_update().filter(user=person).first()
    return BY_RECOVERY if kept and kept.verify_token(_digest(code)) else None


@transaction.atomic
def set_up(person: User, *, secret: str, code: str) -> list[str] | None:
    """Keep an app once its code proves it; return the recovery codes, in plain.

    Returns None for a wrong code. The code that proved it opens nothing later.
    """
    app = device_for(person, secret)
    typed = "".join(code.split())
    if not (typed.isascii() and typed.isdigit()):
        return None
    proof = TOTP(app.bin_key, app.step)
    if not proof.verify(int(typed), tolerance=app.tolerance):
        return None
    forget_rows(person)
    app.last_t, app.drift = proof.t(), proof.drift
    app.save()
    AuditEvent.objects.record(audit.SECOND_STEP_SET_UP, by=person)
    return _write_codes(person)


@transaction.atomic
def renew_codes(person: User) -> list[str]:
    """Replace the recovery codes; the old ones open nothing any more."""
    StaticDevice.objects.filter(user=person).delete()
    AuditEvent.objects.record(audit.RECOVERY_CODES_MADE, by=person)
    return _write_codes(person)


@transaction.atomic
def remove(person: User) -> None:
    """Give the second step up."""
    forget_rows(person)
    AuditEvent.objects.record(audit.SECOND_STEP_REMOVED, by=person)


def forget_rows(person: User) -> None:
    """Drop the person's app and recovery codes."""
    TOTPDevice.objects.filter(user=person).delete()
    StaticDevice.objects.filter(user=person).delete()


def policy_of(person: User) -> SignInPolicy:
    """Return the policy of the person's site, or the one that holds without."""
    stored = SignInPolicy.objects.filter(site_id=person.site_id).first()
    return stored or SignInPolicy(site_id=person.site_id)


def needs_second_step(person: User, policy: SignInPolicy | None = None) -> bool:
    """Tell whether the site asks it of the person's role; never in a demonstration."""
    if person.site.is_demo:
        return False
    return person.role in (policy or policy_of(person)).second_step_roles


def must_set_up_now(person: User) -> bool:
    """Tell whether the person has to set it up before anything else opens."""
    if has_second_step(person):
        return False
    policy = policy_of(person)
    grace = timedelta(days=policy.grace_days)
    is_over = timezone.now() - person.date_joined >= grace
    return is_over and needs_second_step(person, policy)


def _write_codes(person: User) -> list[str]:
    codes = [StaticToken.random_token() for _ in range(RECOVERY_CODES)]
    kept: Any = StaticDevice.objects.create(user=person, name="recovery")
    StaticToken.objects.bulk_create(
        StaticToken(device=kept, token=_digest(code)) for code in codes
    )
    return [f"{code[:4]}-{code[4:]}" for code in codes]


def _digest(code: str) -> str:
    return salted_hmac(SALT, code, algorithm="sha256").hexdigest()[:16]
