"""Placeholder until the page is written."""

from django.http import HttpRequest, HttpResponse

from clinic.access import Capability, requires


@requires(Capability.SEE_CASES)
def screen(request: HttpRequest, pk: int = 0) -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def decide(request: HttpRequest, pk: int = 0) -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")
