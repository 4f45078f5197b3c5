"""Words for what was measured."""

from django import template

from ..science.measures import measure

register = template.Library()


@register.filter
def measure_name(key: str) -> str:
    """Return the short name of a measure."""
    return measure(key).short_name
