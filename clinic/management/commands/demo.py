"""Sets up an invented clinic on this machine and serves it there."""

import argparse
from datetime import date
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import OperationalError, connection
from django.utils import timezone

from outcomes.demo.sign_ins import give_passphrase, staff_of
from outcomes.demo.whole import seed_demonstration

from ...models import Site
from ...serving import HOST, PORT, refuse_port, serve_django


def day(text: str) -> date:
    """Read an ISO date."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"{text!r} is not a date; write it as 2026-03-31"
        ) from None


class Command(BaseCommand):
    """Running it again adds nothing; it never touches a clinic that is not invented."""

    help = (
        "Set up an invented clinic (nobody in it exists), print its sign-ins once and "
        f"serve it on {HOST} only."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """Read the day, the port and what to leave out."""
        parser.add_argument(
            "--on", type=day, help="the day on which the stories end (default: today)"
        )
        parser.add_argument("--port", type=int, default=PORT, help=f"default: {PORT}")
        parser.add_argument(
            "--no-serve", action="store_true", help="set up only, serve nothing"
        )
        parser.add_argument(
            "--new-sign-ins",
            action="store_true",
            help="give the invented people a new passphrase and print it",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Refuse first, then set up, then serve."""
        on = options["on"] or timezone.localdate()
        refuse_the_future(on)
        refuse_beyond_this_machine()
        if not options["no_serve"]:
            refuse_port(options["port"])
        refuse_real_clinic()
        call_command("migrate", verbosity=0, interactive=False)
        self.set_up(on, wants_new=options["new_sign_ins"])
        if not options["no_serve"]:
            self.serve(options["port"])

    def set_up(self, on: date, *, wants_new: bool) -> None:
        """Seed the clinic once; afterwards only sign-ins can be renewed."""
        site = Site.objects.filter(is_demo=True).first()
        if site is None:
            self.stdout.write("Inventing a clinic; this takes some seconds ...")
            self.stdout.flush()
            site = seed_demonstration(on)
            self.stdout.write(f"{site}: its stories end on {on}.")
        elif not wants_new:
            self.stdout.write(
                f"{site} is set up already; nothing was added. Its sign-ins were "
                "printed then; --new-sign-ins prints new ones."
            )
            return
        self.print_sign_ins(site)

    def print_sign_ins(self, site: Site) -> None:
        """Give everyone a passphrase and print it, this once."""
        passphrase = give_passphrase(site)
        self.stdout.write("\nSign-ins, for this machine only, not shown again:")
        for person in staff_of(site):
            role = person.get_role_display()
            self.stdout.write(f"  {person.username:<14} {person} ({role})")
        self.stdout.write(f"Passphrase of all of them:  {passphrase}\n")

    def serve(self, port: int) -> None:
        """Serve on this machine until it is stopped."""
        self.stdout.write(f"Open http://{HOST}:{port}/ and stop with Control-C.")
        self.stdout.flush()
        serve_django(port)


def refuse_the_future(on: date) -> None:
    """Refuse a day that would put the records into the future."""
    if on > timezone.localdate():
        raise CommandError(f"--on {on} lies ahead: no record may be from the future.")


def refuse_beyond_this_machine() -> None:
    """Refuse settings under which others could reach the demo, or nobody could."""
    if not settings.IS_LOOPBACK_ONLY:
        raise CommandError(
            "TROCHLEA_HOSTS names hosts beyond this machine, and the demo's sign-ins "
            "must not be reachable from there. Unset it, and set TROCHLEA_DATA to a "
            "folder of its own."
        )
    if settings.HTTPS:
        raise CommandError("TROCHLEA_HTTPS is on, but the demo serves plain http.")


def refuse_real_clinic() -> None:
    """Refuse a database that holds anything the demo did not make; writes nothing."""
    Path(settings.DATA_DIR).mkdir(parents=True, exist_ok=True)
    try:
        tables = connection.introspection.table_names()
    except OperationalError as error:
        raise CommandError(f"The database does not answer: {error}") from error
    if Site._meta.db_table not in tables:
        if tables and "django_migrations" not in tables:
            raise CommandError("The database holds tables of something else.")
        return
    real = Site.objects.filter(is_demo=False).values_list("name", flat=True)
    if names := ", ".join(real):
        raise CommandError(
            f"This database holds a clinic that the demo did not make: {names}. "
            "Nothing was changed. Set TROCHLEA_DATA to an empty folder, and unset "
            "DATABASE_URL, to see the demo."
        )
