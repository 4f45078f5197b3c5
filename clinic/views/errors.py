"""Pages for what went wrong, each with what to do."""

import sys

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string

from ..cases import NotYourCase
from ..database_trouble import RETRY_SECONDS, trouble_of


def stale_page(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Answer a form whose security token is missing or too old."""
    return render(request, "clinic/stale_page.html", status=403)


def refused(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Answer who lacks the right; where a case is the reason, lead to its cover."""
    case = exception.case if isinstance(exception, NotYourCase) else None
    may_cover = case is not None and case.is_open
    context = {"case": case, "may_cover": may_cover}
    return render(request, "403.html", context, status=403)


def form_key_reused(request: HttpRequest) -> HttpResponse:
    """Answer a form that came back with other content under the same key."""
    return render(request, "clinic/form_key_reused.html", status=422)


def no_pdf(request: HttpRequest, *, what: str, back_url: str) -> HttpResponse:
    """Answer that this installation makes no PDF, and that the browser can print."""
    context = {"what": what, "back_url": back_url}
    return render(request, "clinic/no_pdf.html", context, status=503)


def server_error(request: HttpRequest) -> HttpResponse:
    """Answer a failure of ours with a reference to quote; asks no database.

    Where the database is away, full or closed it is no fault in the program: 503, so
    that a visit that was being saved waits on the tablet and is sent again.
    """
    trouble = trouble_of(sys.exc_info()[1])
    context = {"request_id": getattr(request, "request_id", ""), "trouble": trouble}
    status = 503 if trouble else 500
    page = HttpResponse(render_to_string(f"{status}.html", context), status=status)
    if trouble:
        page["Retry-After"] = str(RETRY_SECONDS)
    page["Cache-Control"] = "no-store"
    return page
