"""Pages that do not apply to a case answer with a sentence, on another page."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from .models import Episode


def refuse_voided(request: HttpRequest, case: Episode) -> HttpResponse | None:
    """Turn back from a case that was voided."""
    if case.is_standing:
        return None
    messages.error(request, "This episode was voided; nothing more is entered in it.")
    return redirect(case.patient)


def refuse_closed(request: HttpRequest, case: Episode) -> HttpResponse | None:
    """Turn back from a case that is not in care."""
    if case.is_open or not case.is_standing:
        return refuse_voided(request, case)
    messages.error(
        request,
        "This case is discharged. Take the discharge back first if that was a mistake.",
    )
    return redirect(case)
