"""Where a page reads: the review pages from the replica, while it keeps up."""

import logging
import threading
import time
from collections.abc import Callable
from contextvars import ContextVar
from functools import wraps
from typing import Any, TypeVar

from django.conf import settings
from django.db import DatabaseError, InterfaceError, OperationalError, connections
from django.db.models import Model
from django.http import HttpRequest, HttpResponse

Result = TypeVar("Result")
PRIMARY, REPLICA = "default", "replica"
# Seconds between two measurements in one process (project assumption).
MEASURE_EVERY = 5.0
# Who somebody is and what is on record are never read from a copy.
ON_PRIMARY = frozenset(
    {
        "sessions.session",
        "clinic.user",
        "clinic.opensession",
        "clinic.auditevent",
        "clinic.submission",
    }
)
PLACE = "SELECT pg_current_wal_lsn()"
BEHIND = (
    "SELECT pg_is_in_recovery(),"
    " CASE WHEN pg_last_wal_replay_lsn() >= %s::pg_lsn THEN 0"
    " ELSE extract(epoch FROM now() - pg_last_xact_replay_timestamp()) END"
)
log = logging.getLogger("trochlea.replica")
_from: ContextVar[str] = ContextVar("read_from", default=PRIMARY)


class ReplicaRouter:
    """Sends reads of a review page to the replica, and everything else home."""

    def db_for_read(self, model: type[Model], **_: Any) -> str:
        """Return the database that this page reads this model from."""
        return PRIMARY if model._meta.label_lower in ON_PRIMARY else _from.get()

    def db_for_write(self, model: type[Model], **_: Any) -> str:
        """Return the primary; a page that writes reads from there afterwards."""
        if model._meta.label_lower not in ON_PRIMARY:
            _from.set(PRIMARY)
        return PRIMARY

    def allow_relation(self, one: Model, other: Model, **_: Any) -> bool:
        """Allow it: both are the same records."""
        return True

    def allow_migrate(self, db: str, *_: Any, **__: Any) -> bool:
        """Change tables on the primary alone; the replica follows by itself."""
        return db == PRIMARY


class Lag:
    """Whether the replica keeps up, measured every few seconds in each process."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self.forget()

    def forget(self) -> None:
        """Measure again at the next question."""
        self._until, self._keeps_up = 0.0, False

    def keeps_up(self) -> bool:
        """Whether the replica is there and not further behind than allowed."""
        with self._lock:
            if time.monotonic() >= self._until:
                self._note(keeps_up=measured_lag() <= settings.REPLICA_LAG_SECONDS)
            return self._keeps_up

    def is_gone(self) -> None:
        """Note that the replica failed; it is asked again after a while."""
        with self._lock:
            self._note(keeps_up=False)

    def _note(self, *, keeps_up: bool) -> None:
        if keeps_up != self._keeps_up:
            log.warning(
                "review pages read from the %s", "replica" if keeps_up else PRIMARY
            )
        self._until, self._keeps_up = time.monotonic() + MEASURE_EVERY, keeps_up


LAG = Lag()


def measured_lag() -> float:
    """Return how many seconds the replica is behind; infinite where it is gone.

    Behind counts from its last replayed transaction, unless it has replayed all that
    the primary has written: on a quiet night that transaction is old.
    """
    try:
        with connections[PRIMARY].cursor() as primary:
            primary.execute(PLACE)
            (place,) = primary.fetchone()
        with connections[REPLICA].cursor() as replica:
            replica.execute(BEHIND, [place])
            is_replica, seconds = replica.fetchone()
    except DatabaseError:
        connections[REPLICA].close()
        return float("inf")
    return float(seconds) if is_replica and seconds is not None else float("inf")


def reading_from_replica(act: Callable[[], Result]) -> Result:
    """Run an act that only reads, from the replica where it keeps up.

    Where the replica fails half-way, the act runs again from the primary.
    """
    if REPLICA not in connections.settings or not LAG.keeps_up():
        return act()
    before = _from.set(REPLICA)
    try:
        return act()
    except (OperationalError, InterfaceError):
        LAG.is_gone()
        connections[REPLICA].close()
    finally:
        _from.reset(before)
    return act()


def reads_replica(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Let a page that only reads do so from the replica; goes below @requires."""

    @wraps(view)
    def reading(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if request.method not in ("GET", "HEAD"):
            return view(request, *args, **kwargs)
        return reading_from_replica(lambda: view(request, *args, **kwargs))

    return reading
