"""Worked examples with their sources, typed apart from the code they test."""

import tomllib
from pathlib import Path
from typing import Any


def vectors(name: str) -> dict[str, Any]:
    """The examples of one file."""
    return tomllib.loads((Path(__file__).parent / f"{name}.toml").read_text("utf-8"))
