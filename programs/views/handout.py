"""The home programme for the patient: the page to print, and the PDF."""

from django.http import HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from clinic.access import Capability, requires
from clinic.cases import find_case
from clinic.htmx import AppRequest
from clinic.posting import posted
from clinic.refusals import refuse_voided
from clinic.views.errors import no_pdf

from ..handout import Handout, read_handout, record_handout
from ..handout_form import HandoutForm
from ..handout_pdf import PdfUnavailable, pdf_of


@requires(Capability.SEE_CASES)
@require_http_methods(["GET", "POST"])
def handout(request: AppRequest, pk: int) -> HttpResponse:
    """Show the sheet; a POST fills in what was typed, and goes on record."""
    case = find_case(request.user, pk)
    if refusal := refuse_voided(request, case):
        return refusal
    form = HandoutForm(posted(request))
    sheet = read_handout(case, on=timezone.localdate())
    is_made = form.is_bound and form.is_valid() and bool(sheet.tasks)
    if is_made:
        record_handout(case, sheet, by=request.user, kind="page")
    context = {**_filled(sheet, form), "case": case, "is_made": is_made}
    status = 422 if form.errors else 200
    return render(request, "programs/handout.html", context, status=status)


@requires(Capability.SEE_CASES)
@require_http_methods(["GET", "POST"])
def handout_pdf(request: AppRequest, pk: int) -> HttpResponse:
    """Answer with the sheet as a PDF, and put on record who made it."""
    case = find_case(request.user, pk)
    if refusal := refuse_voided(request, case):
        return refusal
    form = HandoutForm(posted(request))
    sheet = read_handout(case, on=timezone.localdate())
    context = _filled(sheet, form)
    if form.errors or not sheet.tasks:
        status = 422 if form.errors else 200
        context |= {"case": case, "is_made": False}
        return render(request, "programs/handout.html", context, status=status)
    try:
        made = pdf_of(render_to_string("programs/handout_pdf.html", context))
    except PdfUnavailable:
        back_url = reverse("programs:handout", args=[case.pk])
        return no_pdf(request, what="sheet", back_url=back_url)
    record_handout(case, sheet, by=request.user, kind="pdf")
    name = f"home-programme-{sheet.made_on.isoformat()}.pdf"
    headers = {"Content-Disposition": f'inline; filename="{name}"'}
    return HttpResponse(made, content_type="application/pdf", headers=headers)


def _filled(sheet: Handout, form: HandoutForm) -> dict[str, object]:
    """Return the sheet with what was typed beside it; nothing for a first look."""
    typed = form.cleaned_data if form.is_bound and form.is_valid() else {}
    return {
        "sheet": sheet,
        "form": form,
        "call": typed.get("call", ""),
        "has_notes": typed.get("has_notes", False),
    }
