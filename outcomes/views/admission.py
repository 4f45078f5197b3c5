"""Placeholder until the page is written."""

from django.http import HttpRequest, HttpResponse

from clinic.access import Capability, requires


@requires(Capability.SEE_CASES)
def admit(request: HttpRequest, pk: int = 0) -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def patient(request: HttpRequest, pk: int = 0) -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def change_patient(request: HttpRequest, pk: int = 0) -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def open_case(request: HttpRequest, pk: int = 0) -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def change_case(request: HttpRequest, pk: int = 0) -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def void_case(request: HttpRequest, pk: int = 0) -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")
