"""Placeholder until the page is written."""

from django.http import HttpRequest, HttpResponse

from clinic.access import Capability, requires


@requires(Capability.SEE_CASES)
def flow_screen(request: HttpRequest, pk: int = 0, key: str = "") -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def report_event(request: HttpRequest, pk: int = 0, key: str = "") -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def void_event(request: HttpRequest, pk: int = 0, key: str = "") -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def add_other_care(request: HttpRequest, pk: int = 0, key: str = "") -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def void_other_care(request: HttpRequest, pk: int = 0, key: str = "") -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")
