"""Serving on this machine only: the port, the way to serve, and what is refused."""

import errno
import os
import socket
import sys
import warnings
from importlib.util import find_spec

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connections

from .editions import is_up_to_date

HOST = "127.0.0.1"
PORT = 8000
LAST_PORT = 65_535


def refuse_port(port: int) -> None:
    """Refuse a port that cannot be used."""
    if not 1 <= port <= LAST_PORT:
        raise CommandError(f"--port {port} is no port; choose 1 to {LAST_PORT}.")
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((HOST, port))
        except OSError as error:
            why = "is in use" if error.errno == errno.EADDRINUSE else error.strerror
            raise CommandError(
                f"Port {port} cannot be used ({why}). Choose another with --port."
            ) from error


def refuse_other_hosts() -> None:
    """Refuse settings that are meant for a network, where this serves one machine."""
    if not settings.IS_LOOPBACK_ONLY or settings.HTTPS:
        raise CommandError(
            "TROCHLEA_HOSTS or TROCHLEA_HTTPS is set for a network, and serve answers "
            "this machine only. Unset them, or serve the network with: docker compose "
            "up"
        )


def refuse_old_tables() -> None:
    """Refuse a database whose tables are older than the program."""
    if not is_up_to_date():
        raise CommandError(
            "The tables are older than this version. Make a backup first (manage.py "
            "backup FOLDER), then run: manage.py migrate"
        )


def serve_django(port: int) -> None:
    """Serve with Django's own server until it is stopped."""
    connections.close_all()
    # It warns against real use; it answers this machine only.
    os.environ.setdefault("DJANGO_RUNSERVER_HIDE_WARNING", "true")
    # Nothing is collected here: the files are served from where they lie.
    warnings.filterwarnings("ignore", message="No directory at")
    call_command("runserver", f"{HOST}:{port}", use_reloader=False)


def has_gunicorn() -> bool:
    """Whether the sturdier server is there and this system can run it."""
    return os.name == "posix" and find_spec("gunicorn") is not None


def serve_gunicorn(port: int) -> None:
    """Hand this process over to gunicorn until it is stopped."""
    connections.close_all()
    words = ["-m", "gunicorn", "clinic.wsgi", "--config", "python:clinic.web_server"]
    words += ["--bind", f"{HOST}:{port}", "--chdir", str(settings.BASE_DIR)]
    os.environ["PYTHONWARNINGS"] = "ignore:No directory at"
    # Fixed words and a checked port: nothing of it comes from outside.
    os.execv(sys.executable, [sys.executable, *words])  # noqa: S606
