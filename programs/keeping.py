"""Saving a form of a plan: what an act refuses stands on the form, typing kept."""

from collections.abc import Callable

from django import forms
from django.http import HttpRequest, HttpResponse

from clinic.posting import saved

from .prescribing import LineRefused, PlanRefused


def kept(
    request: HttpRequest, act: Callable[[], str], form: forms.BaseForm
) -> HttpResponse | None:
    """Run the act once for a valid POST; None means: show the form with the reasons."""
    try:
        return saved(request, act, form)
    except LineRefused as refused:
        for name, reason in refused.faults.items():
            form.add_error(name if name in form.fields else None, reason)
    except PlanRefused as refused:
        form.add_error(None, refused.reason)
    return None
