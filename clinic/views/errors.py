"""Pages for what went wrong, each with what to do."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render


def stale_page(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Answer a form whose security token is missing or too old."""
    return render(request, "clinic/stale_page.html", status=403)


def form_key_reused(request: HttpRequest) -> HttpResponse:
    """Answer a form that came back with other content under the same key."""
    return render(request, "clinic/form_key_reused.html", status=422)
