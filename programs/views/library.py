"""Placeholder until the page is written."""

from django.http import HttpRequest, HttpResponse

from clinic.access import Capability, requires


@requires(Capability.SEE_CASES)
def exercises(request: HttpRequest, pk: int = 0, key: str = "") -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def exercise(request: HttpRequest, pk: int = 0, key: str = "") -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def add_own(request: HttpRequest, pk: int = 0, key: str = "") -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def retire_own(request: HttpRequest, pk: int = 0, key: str = "") -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")
