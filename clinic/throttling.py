"""A pause after failed sign-ins, counted for each account and for each source.

django-axes keeps the counts in the database, so that every web process sees them. An
account is known there by a keyed digest: what was typed as a user name may have been
a passphrase.
"""

from ipaddress import ip_address
from typing import Any

from axes.handlers.database import AxesDatabaseHandler
from axes.handlers.proxy import AxesProxyHandler
from axes.helpers import get_client_username
from axes.models import AccessAttempt
from django.conf import settings
from django.contrib.auth.signals import user_login_failed
from django.db.models import Sum
from django.http import HttpRequest, HttpResponse
from django.utils.crypto import salted_hmac

from .models import User

SALT = "clinic.throttling"
PAUSED = (
    "Too many sign-ins failed, so none is accepted for a while, not even with the "
    "right passphrase. Wait {minutes} minutes and try again. Who cannot wait asks "
    "the clinic lead or administrator for a one-time sign-in."
)


def source_of(request: HttpRequest) -> str | None:
    """Return the address that a request comes from, as the nearest proxy saw it."""
    seen: str = request.META.get("REMOTE_ADDR") or ""
    if settings.IS_BEHIND_PROXY:
        seen = request.META.get("HTTP_X_FORWARDED_FOR", "").rpartition(",")[2] or seen
    try:
        return str(ip_address(seen.strip()))
    except ValueError:
        return None


def account_key(
    request: HttpRequest, credentials: dict[str, Any] | None = None
) -> str | None:
    """Return the digest under which failures for a user name are counted."""
    typed = (credentials or {}).get("username") or request.POST.get("username")
    if not typed:
        return None
    return salted_hmac(SALT, str(typed).casefold(), algorithm="sha256").hexdigest()


class TwoLimits(AxesDatabaseHandler):
    """Counts failures as django-axes does, with a wider limit for a source.

    All tablets of a clinic often share one source.
    """

    def get_failures(self, request: Any, credentials: dict | None = None) -> int:
        """Return the failures of the account; over the source's limit, a full count."""
        of_account, of_source = (
            attempts.aggregate(sum=Sum("failures_since_start"))["sum"] or 0
            for attempts in self.get_user_attempts(request, credentials)
        )
        is_full = of_source >= settings.SIGN_IN_FAILURES_PER_SOURCE
        limit: int = settings.AXES_FAILURE_LIMIT
        return max(of_account, limit) if is_full else of_account

    def reset_user_attempts(self, request: Any, credentials: dict | None = None) -> int:
        """Forget the account's failures after a sign-in; the source's others stay."""
        name = get_client_username(request, credentials)
        count, _ = AccessAttempt.objects.filter(username=name).delete()
        return count


def is_paused(request: HttpRequest, person: User) -> bool:
    """Tell whether nothing is accepted for this account or from this source now."""
    credentials = {"username": person.get_username()}
    if AxesProxyHandler.is_allowed(request, credentials):
        return False
    request.axes_locked_out = True  # type: ignore[attr-defined]
    return True


def has_paused(request: HttpRequest) -> bool:
    """Tell whether this very request met the pause, or began it."""
    return bool(getattr(request, "axes_locked_out", False))


def note_failure(request: HttpRequest, person: User) -> None:
    """Count a wrong code of the second step as a failed sign-in."""
    credentials = {"username": person.get_username()}
    user_login_failed.send(__name__, credentials=credentials, request=request)


def paused_words() -> str:
    """Say that there is a pause, and how long."""
    minutes = int(settings.AXES_COOLOFF_TIME.total_seconds() // 60)
    return PAUSED.format(minutes=minutes)


def paused_answer(
    request: HttpRequest, response: HttpResponse, credentials: Any = None
) -> HttpResponse:
    """Leave the page as the view made it, with the status of a pause."""
    response.status_code = 429
    return response
