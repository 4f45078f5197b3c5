"""Pages for what went wrong, each with what to do."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string


def stale_page(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Answer a form whose security token is missing or too old."""
    return render(request, "clinic/stale_page.html", status=403)


def form_key_reused(request: HttpRequest) -> HttpResponse:
    """Answer a form that came back with other content under the same key."""
    return render(request, "clinic/form_key_reused.html", status=422)


def server_error(request: HttpRequest) -> HttpResponse:
    """Answer a failure of ours with a reference to quote; asks no database."""
    context = {"request_id": getattr(request, "request_id", "")}
    return HttpResponse(render_to_string("500.html", context), status=500)
