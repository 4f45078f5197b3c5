"""Placeholder until the page is written."""

from django.http import HttpRequest, HttpResponse

from clinic.access import Capability, requires


@requires(Capability.SEE_CASES)
def prescribe(request: HttpRequest, pk: int = 0, key: str = "") -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def change_prescription(request: HttpRequest, pk: int = 0, key: str = "") -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def stop_prescription(request: HttpRequest, pk: int = 0, key: str = "") -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def dose_help(request: HttpRequest, pk: int = 0, key: str = "") -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")
