"""Who looked at a record, who changed it, and who was refused."""

from typing import Any

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from clinic.access import Capability, requires
from clinic.audit import Kind
from clinic.cases import find_patient
from clinic.htmx import AppRequest
from clinic.looking import ONE_LOOK_MINUTES

from ..trail import in_words, trail_of

LINES_A_PAGE = 50


@requires(Capability.READ_TRAIL)
@require_GET
def trail(request: AppRequest, pk: int) -> HttpResponse:
    """Show the trail of one record, newest first, fifty lines a page."""
    patient, kind = find_patient(request.user, pk), request.GET.get("kind", "")
    lines = trail_of(patient, by=request.user, kind=kind)
    page = Paginator(lines, LINES_A_PAGE).get_page(request.GET.get("page"))
    context: dict[str, Any] = {
        "patient": patient,
        "lines": [in_words(line) for line in page],
        "page": page,
        "kind": kind if kind in set(Kind) else "",
        "kinds": list(Kind),
        "minutes": ONE_LOOK_MINUTES,
    }
    return render(request, "outcomes/trail.html", context)


@requires(Capability.READ_TRAIL)
@require_GET
def access_report(request: AppRequest, pk: int) -> HttpResponse:
    """Show everybody who had access to a record, on paper, for the person."""
    patient = find_patient(request.user, pk)
    context = {
        "patient": patient,
        "lines": [in_words(line) for line in trail_of(patient, by=request.user)],
        "on": timezone.localdate(),
        "site": patient.site,
        "minutes": ONE_LOOK_MINUTES,
    }
    return render(request, "outcomes/access_report.html", context)
