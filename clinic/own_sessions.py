"""Where a person is signed in: kept from the sign-in on, and ended one by one."""

from datetime import timedelta
from typing import Any

from django.conf import settings
from django.contrib.auth.signals import user_logged_in
from django.db.models import QuerySet
from django.dispatch import receiver
from django.http import HttpRequest
from django.utils import timezone

from .models import OpenSession, User
from .throttling import source_of

OPEN_SESSION = "open_session"
# Writing down every request would cost one more write on each page.
SEEN_EVERY = timedelta(minutes=1)
DEVICES = (
    ("iPad", "iPad"),
    ("iPhone", "iPhone"),
    ("Android", "Android device"),
    ("Windows", "Windows computer"),
    ("CrOS", "Chromebook"),
    ("Macintosh", "Mac or iPad"),
    ("Linux", "Linux computer"),
)
BROWSERS = (
    ("Edg", "Edge"),
    ("Firefox", "Firefox"),
    ("FxiOS", "Firefox"),
    ("CriOS", "Chrome"),
    ("Chrome", "Chrome"),
    ("Safari", "Safari"),
)


def device_words(user_agent: str) -> str:
    """Return a device in words that a person recognises; no version, no model."""
    device = next((words for mark, words in DEVICES if mark in user_agent), "")
    browser = next((words for mark, words in BROWSERS if mark in user_agent), "")
    known = device or "a device that does not say what it is"
    return f"{browser} on {known}" if browser and device else known


@receiver(user_logged_in)
def begin(sender: Any, request: HttpRequest, user: User, **_: Any) -> None:
    """Keep a sign-in as a session of the person."""
    now = timezone.now()
    row = OpenSession.objects.create(
        user=user,
        device=device_words(request.META.get("HTTP_USER_AGENT", "")),
        source=source_of(request),
        began_at=now,
        seen_at=now,
    )
    request.session[OPEN_SESSION] = row.pk


def is_in_force(request: HttpRequest) -> bool:
    """Tell whether the session of this request was not ended, noting its use."""
    person: Any = request.user
    kept = person.open_sessions.filter(
        pk=request.session.get(OPEN_SESSION, 0), ended_at=None
    )
    row = kept.first()
    if row and timezone.now() - row.seen_at > SEEN_EVERY:
        kept.update(seen_at=timezone.now())
    return bool(row)


def sessions_of(person: User) -> QuerySet[OpenSession]:
    """Return the sessions in which a person is signed in now, newest use first."""
    now = timezone.now()
    idle = timedelta(seconds=settings.SESSION_COOKIE_AGE) + SEEN_EVERY
    whole = timedelta(seconds=settings.SESSION_ABSOLUTE_SECONDS)
    return person.open_sessions.filter(
        ended_at=None, seen_at__gte=now - idle, began_at__gte=now - whole
    ).order_by("-seen_at", "-pk")


def end_sessions(
    person: User, *, only: int | None = None, but: int | None = None
) -> int:
    """End the sessions of a person, or one, or all but one; return how many."""
    rows = person.open_sessions.filter(ended_at=None)
    if only is not None:
        rows = rows.filter(pk=only)
    if but is not None:
        rows = rows.exclude(pk=but)
    return rows.update(ended_at=timezone.now())
