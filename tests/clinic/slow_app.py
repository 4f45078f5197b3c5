"""The project behind a pause, so that a request is under way when a test says so."""

import time
from collections.abc import Callable, Iterable
from typing import Any

from clinic.wsgi import application as project

PAUSE_SECONDS = 2


def application(environ: dict[str, Any], start: Callable[..., Any]) -> Iterable[bytes]:
    """Answer as the project does, later; the health page at once."""
    if environ["PATH_INFO"] != "/health/":
        time.sleep(PAUSE_SECONDS)
    answer: Iterable[bytes] = project(environ, start)
    return answer
