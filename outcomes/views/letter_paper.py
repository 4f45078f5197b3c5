"""A signed letter on paper: the page to print, and the PDF; both go on record."""

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.template.loader import render_to_string
from django.views.decorators.http import require_http_methods, require_POST

from clinic.access import Capability, requires
from clinic.htmx import AppRequest
from clinic.views.errors import no_pdf
from programs.handout_pdf import PdfUnavailable, pdf_of

from ..letters.acts import record_letter
from ..letters.sheet import read_sheet
from ..models import Letter
from .letters import find_letter, page_of, show

STYLE = settings.BASE_DIR / "static" / "css" / "letter.css"


@requires(Capability.SEE_CASES)
@require_http_methods(["GET", "POST"])
def letter_print(request: AppRequest, pk: int) -> HttpResponse:
    """Show a signed letter; a POST goes on record and opens the print window."""
    found = find_letter(request, pk)
    if on_paper(request, found) is None:
        return redirect(page_of(found))
    is_made = request.method == "POST"
    if is_made:
        record_letter(found, by=request.user, kind="page")
    return show(request, found, is_made=is_made)


@requires(Capability.SEE_CASES)
@require_POST
def letter_pdf(request: AppRequest, pk: int) -> HttpResponse:
    """Answer with a signed letter as a PDF, and put on record who made it."""
    found = find_letter(request, pk)
    context = on_paper(request, found)
    if context is None:
        return redirect(page_of(found))
    try:
        page = render_to_string("outcomes/letter_pdf.html", context)
        made = pdf_of(page, style=STYLE)
    except PdfUnavailable:
        return no_pdf(request, what="letter", back_url=page_of(found))
    record_letter(found, by=request.user, kind="pdf")
    name = f"letter-{found.written_on.isoformat()}.pdf"
    headers = {"Content-Disposition": f'inline; filename="{name}"'}
    return HttpResponse(made, content_type="application/pdf", headers=headers)


def on_paper(request: AppRequest, found: Letter) -> dict[str, Any] | None:
    """Return what stands on paper; None, with a sentence, unless it is signed."""
    if found.signed_at and found.is_standing:
        return {"sheet": read_sheet(found), "letter": found}
    messages.error(request, "Only a signed letter that stands is printed.")
    return None
