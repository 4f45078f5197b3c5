"""Start-up checks that hold the house rules."""

from collections.abc import Iterator
from typing import Any

from django.core.checks import CheckMessage, Error, register
from django.urls import URLPattern, URLResolver, get_resolver


def every_pattern(
    patterns: list[Any], prefix: str = ""
) -> Iterator[tuple[str, URLPattern]]:
    """Yield each address with its pattern, however deeply included."""
    for entry in patterns:
        address = prefix + str(entry.pattern)
        if isinstance(entry, URLResolver):
            yield from every_pattern(entry.url_patterns, address)
        else:
            yield address, entry


@register()
def views_declare_access(**_: Any) -> list[CheckMessage]:
    """clinic.E001: a view says who may use it, or the project does not start."""
    return [
        Error(
            f"The view at /{address} does not declare its access.",
            hint="Put @requires(Capability.…) or @public('why') on it.",
            id="clinic.E001",
        )
        for address, pattern in every_pattern(get_resolver().url_patterns)
        if not hasattr(pattern.callback, "access")
    ]
