"""A passphrase typed again, before something that cannot be called back."""

from collections.abc import Callable
from functools import partial, wraps
from typing import Any, overload
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils import timezone

from .access import View

CONFIRMED_AT = "passphrase_confirmed_at"
# Project assumption, as the idle limit of a session: long enough to fill in a form.
FRESH_MINUTES = 15


def note_confirmed(request: HttpRequest) -> None:
    """Remember in the session that the passphrase was typed just now."""
    request.session[CONFIRMED_AT] = timezone.now().timestamp()


def is_fresh(request: HttpRequest) -> bool:
    """Tell whether the passphrase was typed again in the last minutes."""
    confirmed_at = request.session.get(CONFIRMED_AT)
    if confirmed_at is None:
        return False
    return 0 <= timezone.now().timestamp() - confirmed_at < FRESH_MINUTES * 60


@overload
def requires_fresh(view: View) -> View: ...


@overload
def requires_fresh(*, back_to: str) -> Callable[[View], View]: ...


def requires_fresh(view: View | None = None, *, back_to: str = "") -> Any:
    """Ask for the passphrase first; stands below `@requires(...)` on a view.

    A form that comes too late is not acted on: the person confirms and goes on to the
    page of its own address, or to the route `back_to` where that address has no page.
    """
    return _guarded(view, back_to) if view else partial(_guarded, back_to=back_to)


def _guarded(view: View, back_to: str) -> View:
    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if is_fresh(request):
            return view(request, *args, **kwargs)
        after = reverse(back_to) if back_to else request.path
        return HttpResponseRedirect(confirm_address(after))

    return guarded


def confirm_address(after: str) -> str:
    """Return the address that asks for the passphrase and then goes on."""
    return f"{reverse('confirm_passphrase')}?{urlencode({'next': after})}"
