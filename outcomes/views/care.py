"""Placeholder until the page is written."""

from django.http import HttpRequest, HttpResponse

from clinic.access import Capability, requires


@requires(Capability.SEE_CASES)
def cover(request: HttpRequest, pk: int = 0) -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def end_cover(request: HttpRequest, pk: int = 0) -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def hand_over(request: HttpRequest, pk: int = 0) -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def log_contact(request: HttpRequest, pk: int = 0) -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")
