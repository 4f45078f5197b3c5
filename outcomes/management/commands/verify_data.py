"""Holds everything that is stored against itself, and says what does not fit."""

import sys
from typing import Any

from django.core.management.base import BaseCommand

from ...verifying.faults import Counted
from ...verifying.run import CHECKS, faults


class Command(BaseCommand):
    """Changes nothing; ends with 1 where it found a fault."""

    help = (
        "Work out every stored score again from its answers, check what belongs "
        "together, and let the database check itself. Changes nothing."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        """Print each fault with what to do, then one sentence about the whole."""
        counted, found = Counted(), 0
        for fault in faults(counted):
            self.stdout.write(str(fault))
            found += 1
        self.stdout.write(
            f"{len(CHECKS)} checks; {counted.scores} results worked out again from "
            "what was entered; "
            f"{counted.older_editions} of an older edition left alone."
        )
        if found:
            self.stdout.write(f"Faults: {found}. Nothing was changed.")
            sys.exit(1)
        self.stdout.write("No fault found.")
