"""One view for a page and for its fragment."""

from typing import Any, cast

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.cache import patch_vary_headers
from django_htmx.middleware import HtmxDetails

from .models import User


class AppRequest(HttpRequest):
    """A request behind the sign-in: its user is one of ours."""

    user: User
    htmx: HtmxDetails
    request_id: str


def wants_fragment(request: HttpRequest) -> bool:
    """Whether htmx asked for part of a page."""
    htmx = cast(AppRequest, request).htmx
    return bool(htmx) and not htmx.boosted and not htmx.history_restore_request


def page_or_fragment(
    request: HttpRequest,
    page: str,
    fragment: str,
    context: dict[str, Any],
    *,
    status: int = 200,
) -> HttpResponse:
    """Render templates/<page>.html, or its part <page's folder>/_<fragment>.html."""
    name = f"{page}.html"
    if wants_fragment(request):
        name = f"{page.rpartition('/')[0]}/_{fragment}.html"
    response = render(request, name, context, status=status)
    patch_vary_headers(response, ["HX-Request"])
    return response
