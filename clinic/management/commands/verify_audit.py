"""Checks that the audit trail is what was written."""

from typing import Any

from django.core.management import BaseCommand, CommandError, CommandParser

from ...models import AuditChain
from ...verifying import Verified, verify_chains


class Command(BaseCommand):
    """Walk every chain of the audit trail; exit code 1 when one is broken."""

    help = (
        "Checks the audit trail for lines that were edited, removed, inserted, moved "
        "or cut off. Keep the printed heads outside of this machine and give them "
        "next time with --head: then a trail that was written anew from some line on "
        "is found too."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the heads that were kept."""
        parser.add_argument(
            "--head",
            action="append",
            default=[],
            metavar="HASH",
            help="a head printed by an earlier run; may be given several times",
        )

    def handle(self, *, head: list[str], **options: Any) -> None:
        """Print each chain with its head, or its first broken line."""
        wanted = {one.strip().lower() for one in head} - {""}
        broken = 0
        for found in verify_chains(wanted):
            broken += bool(found.fault)
            self.stdout.write(told(found))
        for lost in sorted(wanted):
            broken += 1
            self.stdout.write(
                f"No line has the head {lost}: the trail was cut before it or "
                "written anew."
            )
        if broken:
            raise CommandError("The audit trail is not what was written.", returncode=1)
        self.stdout.write("The audit trail is whole. Keep the heads elsewhere.")


def told(found: Verified) -> str:
    """Return one chain in a sentence."""
    site = name_of(found.chain)
    if found.fault:
        return f"{site}: BROKEN. {found.fault}"
    lines = "1 line" if found.length == 1 else f"{found.length} lines"
    return f"{site}: {lines}, head {found.head}"


def name_of(chain: AuditChain) -> str:
    """Return whose chain it is."""
    return chain.site.name if chain.site else "No site (sign-ins of nobody known)"
