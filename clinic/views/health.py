"""Two addresses for whoever watches the installation; they say nothing else."""

from functools import cache

from django.db import DatabaseError, connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder
from django.http import HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from ..access import public

PLAIN = "text/plain"
RETRY_SECONDS = 10


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
    """Whether every migration of this version has been applied."""
    try:
        applied = MigrationRecorder(connection).applied_migrations()
    except DatabaseError:
        return False
    return latest_migrations() <= set(applied)


@cache
def latest_migrations() -> frozenset[tuple[str, str]]:
    """Return the last migration of each app; a process has one version."""
    graph = MigrationLoader(None).graph
    return frozenset(graph.leaf_nodes())
