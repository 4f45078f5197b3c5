"""Two addresses for whoever watches the installation; they say nothing else."""

from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from ..access import public
from ..database_trouble import RETRY_SECONDS
from ..editions import is_up_to_date

PLAIN = "text/plain"


@public("whoever watches the process has no account; it says one word")
@never_cache
@require_safe
def health(request: HttpRequest) -> HttpResponse:
    """Answer that the process answers; asks no database."""
    return HttpResponse("ok\n", content_type=PLAIN)


@public("whoever sends the traffic has no account; it says one word")
@never_cache
@require_safe
def ready(request: HttpRequest) -> HttpResponse:
    """Answer whether the database can be reached and its tables are up to date."""
    if is_ready():
        return HttpResponse("ready\n", content_type=PLAIN)
    waiting = HttpResponse("not ready\n", content_type=PLAIN, status=503)
    waiting["Retry-After"] = str(RETRY_SECONDS)
    return waiting


def is_ready() -> bool:
    """Whether the database answers, and every migration has been applied."""
    try:
        return is_up_to_date()
    except DatabaseError:
        return False
