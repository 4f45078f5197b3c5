"""Placeholder until the page is written."""

from django.http import HttpRequest, HttpResponse

from clinic.access import Capability, requires


@requires(Capability.SEE_CASES)
def caseload(request: HttpRequest, pk: int = 0) -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")
