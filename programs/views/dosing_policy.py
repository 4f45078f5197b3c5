"""Placeholder until the page is written."""

from django.http import HttpRequest, HttpResponse

from clinic.access import Capability, requires


@requires(Capability.SEE_CASES)
def dosing_policy(request: HttpRequest, pk: int = 0, key: str = "") -> HttpResponse:
    """Not written yet."""
    return HttpResponse("…")
