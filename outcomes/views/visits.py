"""Placeholder until the page is written."""

from django.http import HttpRequest, HttpResponse

from clinic.access import Capability, requires


@requires(Capability.SEE_CASES)
def log_visit(request: HttpRequest, pk: int = 0) -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def live_score(request: HttpRequest, pk: int = 0) -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def change_visit(request: HttpRequest, pk: int = 0) -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def void_visit(request: HttpRequest, pk: int = 0) -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def assessment(request: HttpRequest, pk: int = 0) -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def void_assessment(request: HttpRequest, pk: int = 0) -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")
