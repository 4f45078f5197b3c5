"""Serves a real clinic on this machine."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from ...installation import has_tables
from ...models import Site
from ...serving import (
    HOST,
    PORT,
    has_gunicorn,
    refuse_old_tables,
    refuse_other_hosts,
    refuse_port,
    serve_django,
    serve_gunicorn,
)


class Command(BaseCommand):
    """Answers this machine only; a network needs HTTPS."""

    help = f"Serve the clinic of the data folder on {HOST}, for this machine only."

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the port."""
        parser.add_argument("--port", type=int, default=PORT, help=f"default: {PORT}")

    def handle(self, *, port: int, **options: Any) -> None:
        """Refuse first, then print the address and serve until stopped."""
        refuse_other_hosts()
        refuse_port(port)
        if not has_tables() or not Site.objects.exists():
            raise CommandError(
                "There is no clinic in the data folder yet. Add it first:\n"
                '  manage.py add_site "Name of the clinic"'
            )
        refuse_old_tables()
        self.stdout.write(f"Open http://{HOST}:{port}/ and stop with Control-C.")
        self.stdout.flush()
        serve_gunicorn(port) if has_gunicorn() else serve_django(port)
