"""A request beside the main one: extends the sign-in, writes nothing else to it."""

from typing import Any

from django.contrib.sessions.models import Session
from django.http import HttpRequest


def keep_session_alive(request: HttpRequest) -> None:
    """Extend the sign-in without writing the session back as this request read it.

    A session is saved whole. A request that runs beside a save would put back what
    it read before, and with that undo the message that the save left in it.
    """
    session = request.session
    Session.objects.filter(session_key=session.session_key).update(
        expire_date=session.get_expiry_date()
    )

    def leave_alone(*_: Any, **__: Any) -> None:
        return None

    session.save = leave_alone  # type: ignore[method-assign]
