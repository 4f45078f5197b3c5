"""A form that is sent twice is saved once."""

import hashlib
import json
import uuid
from collections.abc import Callable

from django.db import IntegrityError, transaction
from django.http import HttpRequest, QueryDict

from .models import AuditChain, Submission, User

FORM_KEY = "form_key"
NOT_CONTENT = {"csrfmiddlewaretoken", FORM_KEY, "typed_by"}


class KeyReused(Exception):
    """The same form key came back with other content."""


def new_form_key() -> str:
    """Return a fresh key for a form that is being shown."""
    return str(uuid.uuid4())


def fingerprint(fields: QueryDict) -> str:
    """Return a digest of what was entered, whatever the order of the fields."""
    entered = sorted(
        (name, values) for name, values in fields.lists() if name not in NOT_CONTENT
    )
    return hashlib.sha256(json.dumps(entered).encode()).hexdigest()


def form_key_of(request: HttpRequest) -> uuid.UUID:
    """Return the key that the form carried; a missing one counts as new."""
    try:
        return uuid.UUID(request.POST.get(FORM_KEY, ""))
    except ValueError:
        return uuid.uuid4()


@transaction.atomic
def save_once(request: HttpRequest, act: Callable[[], str]) -> str:
    """Run the act once per form key and return its outcome, an address.

    A repeat of the same form returns the first outcome and changes nothing.
    Raises KeyReused when the key returns with other content.
    """
    by: User = request.user  # type: ignore[assignment]
    key, print_ = form_key_of(request), fingerprint(request.POST)
    # First of all locks, so that two forms never wait for each other in a circle.
    AuditChain.objects.locked(by.site_id)
    try:
        with transaction.atomic():
            row = Submission.objects.create(by=by, key=key, fingerprint=print_)
    except IntegrityError:
        earlier = Submission.objects.get(by=by, key=key)
        if earlier.fingerprint != print_:
            raise KeyReused from None
        return earlier.outcome
    row.outcome = act()
    row.save(update_fields=["outcome"])
    return row.outcome
