#!/usr/bin/env python
"""Command line of the project."""

import os
import sys


def main() -> None:
    """Hand the command line to Django."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "clinic.settings")
    try:
        from django.core.management import execute_from_command_line
    except ImportError as error:
        raise SystemExit(
            "Django is not installed for this Python. Run the first command of "
            "README.md, or use the Python in .venv/bin."
        ) from error
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
