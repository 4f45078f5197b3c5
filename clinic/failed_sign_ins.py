"""Sign-ins that failed go on record, whichever page they were tried on."""

from typing import Any

from django.contrib.auth.signals import user_login_failed
from django.dispatch import receiver

from . import audit
from .models import AuditEvent, User


@receiver(user_login_failed)
def put_failure_on_record(
    sender: Any, credentials: dict[str, Any], **kwargs: Any
) -> None:
    """Write the line of the account that was tried.

    A name that nobody has is not kept: it may be a passphrase in the wrong field.
    """
    tried = str(credentials.get(User.USERNAME_FIELD) or "")
    person = User.objects.filter(**{User.USERNAME_FIELD: tried}).first()
    AuditEvent.objects.record(audit.SIGN_IN_FAILED, by=person)
