"""Placeholder until the page is written."""

from django.http import HttpRequest, HttpResponse

from clinic.access import Capability, requires


@requires(Capability.SEE_CASES)
def programme(request: HttpRequest, pk: int = 0, key: str = "") -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def new_programme(request: HttpRequest, pk: int = 0, key: str = "") -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def end_programme(request: HttpRequest, pk: int = 0, key: str = "") -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def make_template(request: HttpRequest, pk: int = 0, key: str = "") -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def add_phase(request: HttpRequest, pk: int = 0, key: str = "") -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")


@requires(Capability.SEE_CASES)
def change_phase(request: HttpRequest, pk: int = 0, key: str = "") -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")
