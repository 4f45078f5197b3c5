"""Words for what was measured."""

from django import template

from clinic.models import Patient
from clinic.sharing import choice_in_words

from ..science.measures import measure

register = template.Library()


@register.filter
def measure_name(key: str) -> str:
    """Return the short name of a measure."""
    return measure(key).short_name


@register.filter
def audit_choice(patient: Patient) -> str:
    """Return that a person declines the use for audit, or nothing."""
    return choice_in_words(patient)
