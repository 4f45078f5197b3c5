"""The data dictionary: Table Schema as JSON, and the same as a page to read."""

from __future__ import annotations

from .manifest import Manifest


def as_json(manifest: Manifest) -> str:
    """Return dictionary.json: a data package with one Table Schema per file."""
    raise NotImplementedError


def as_html(manifest: Manifest) -> str:
    """Return dictionary.html: one page, readable by itself, without any script."""
    raise NotImplementedError
