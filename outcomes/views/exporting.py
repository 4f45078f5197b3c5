"""Export for audit: what was given out, and a new one with its preview and its file."""

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse, StreamingHttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clinic.access import Capability, requires
from clinic.fresh import requires_fresh
from clinic.htmx import AppRequest
from clinic.posting import show_form
from clinic.submissions import KeyReused, new_form_key, save_once
from clinic.views.errors import form_key_reused

from ..export_form import ExportForm
from ..exporting.beginning import MOST_A_DAY, Begun, ExportRefused, begin_export
from ..exporting.file_name import file_name
from ..exporting.manifest import wording
from ..exporting.previewing import preview_export
from ..exporting.writing import export_chunks, stop_abandoned
from ..models import AuditExport

# What was asked for, kept in the session between the form and the yes.
ASKED = "export_asked"


@requires(Capability.EXPORT_FOR_AUDIT)
@require_GET
def exports(request: AppRequest) -> HttpResponse:
    """List what was given out, the newest first."""
    stop_abandoned(request.user)
    made = AuditExport.objects.for_user(request.user).select_related("made_by")
    context = {
        "exports": made.order_by("-made_at", "-pk"),
        "today": timezone.localdate(),
        "most_a_day": MOST_A_DAY,
    }
    return render(request, "outcomes/exports.html", context)


@requires(Capability.EXPORT_FOR_AUDIT)
@require_GET
def export(request: AppRequest, pk: int) -> HttpResponse:
    """Show one export: to whom, why, and what its file held."""
    made = AuditExport.objects.for_user(request.user).select_related("made_by")
    found = get_object_or_404(made, pk=pk)
    context = {"export": found, "today": timezone.localdate()}
    return render(request, "outcomes/export.html", context)


@requires(Capability.EXPORT_FOR_AUDIT)
@requires_fresh
@require_http_methods(["GET", "POST"])
def new_export(request: AppRequest) -> HttpResponse:
    """Ask what has to be said, then go on to the preview."""
    if request.method == "POST":
        form = ExportForm(request.POST)
        if form.is_valid():
            request.session[ASKED] = form.typed
            return redirect("outcomes:export_preview")
    else:
        form = ExportForm(initial=request.session.get(ASKED))
    return show_form(request, "outcomes/export_new.html", form)


@requires(Capability.EXPORT_FOR_AUDIT)
@requires_fresh
@require_GET
def preview(request: AppRequest) -> HttpResponse:
    """Show what the file would hold; nothing is written."""
    return show_preview(request, ExportForm(request.session.get(ASKED)))


def show_preview(request: AppRequest, form: ExportForm) -> HttpResponse:
    """Show the preview, or why there is none."""
    if not form.is_valid():
        return redirect("outcomes:export_new")
    context: dict[str, Any] = {
        "form": form,
        "wanted": form.wanted,
        "wording": wording(settings.JURISDICTION),
        "form_key": new_form_key(),
    }
    try:
        context["preview"] = preview_export(form.wanted, by=request.user)
        refusal = context["preview"].refusal
    except ExportRefused as refused:
        refusal = str(refused)
    context["refusal"] = refusal
    status = 422 if refusal and request.method == "POST" else 200
    return render(request, "outcomes/export_preview.html", context, status=status)


@requires(Capability.EXPORT_FOR_AUDIT)
@requires_fresh(back_to="outcomes:export_new")
@require_POST
def export_file(request: AppRequest) -> Any:
    """Begin the export on the record, then send its file while it is written."""
    form = ExportForm(request.POST)
    if not form.is_valid():
        return redirect("outcomes:export_new")
    begun: list[Begun] = []

    def act() -> str:
        by, request_id = request.user, request.request_id
        begun.append(begin_export(form.wanted, by=by, request_id=request_id))
        return reverse("outcomes:export", args=[begun[0].export.pk])

    try:
        page = save_once(request, act)
    except KeyReused:
        return form_key_reused(request)
    except ExportRefused:
        return show_preview(request, form)
    if not begun:
        messages.info(
            request, "This export was begun already; here is what it came to."
        )
        return redirect(page)
    request.session.pop(ASKED, None)
    return as_download(begun[0])


def as_download(begun: Begun) -> StreamingHttpResponse:
    """Return the file as an attachment that no cache and no browser keeps."""
    name = file_name(begun.export.made_at)
    headers = {
        "Content-Disposition": f'attachment; filename="{name}"',
        "Cache-Control": "no-store",
        "X-Content-Type-Options": "nosniff",
    }
    return StreamingHttpResponse(
        export_chunks(begun), content_type="application/zip", headers=headers
    )
