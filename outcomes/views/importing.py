"""Bring in records: upload two files, see what they would add, then say yes."""

from django.contrib import messages
from django.db import IntegrityError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from clinic.access import Capability, requires
from clinic.htmx import AppRequest
from clinic.submissions import KeyReused, new_form_key, save_once
from clinic.versions import StaleEdit
from clinic.views.errors import form_key_reused

from ..importing.caseload import Report
from ..importing.summary import counts, missing_people, outcome, remarks, sentence
from ..importing.uploading import (
    UploadForm,
    bring_in_upload,
    clear_old_uploads,
    keep_upload,
    own_uploads,
    uploaded,
)
from ..models import PendingImport

# Project assumption: as many faults as somebody mends before trying again.
SHOWN = 200


class NotStored(Exception):
    """The files turned out to be faulty when they were to be stored."""


@requires(Capability.BRING_IN_RECORDS)
@require_http_methods(["GET", "POST"])
def upload(request: AppRequest) -> HttpResponse:
    """Take two files and show what they would add."""
    clear_old_uploads()
    is_sent = request.method == "POST"
    form = UploadForm(request.POST, request.FILES) if is_sent else UploadForm()
    if is_sent and form.is_valid():
        return check_upload(request, uploaded(form, by=request.user))
    context = {
        "form": form,
        "form_key": new_form_key(),
        "waiting": own_uploads(request.user)
        .defer("patients_csv", "observations_csv")
        .order_by("-uploaded_at"),
    }
    status = 422 if form.errors else 200
    return render(request, "outcomes/import.html", context, status=status)


def check_upload(request: AppRequest, pending: PendingImport) -> HttpResponse:
    """Keep sound files for the decision; faulty ones are shown and not kept."""
    report = checked(request, pending)
    if not report.is_sound:
        return show_report(request, pending, report, status=422)
    keep_upload(pending, report)
    return redirect("outcomes:import_preview", pending.pk)


@requires(Capability.BRING_IN_RECORDS)
@require_http_methods(["GET", "POST"])
def preview(request: AppRequest, pk: int) -> HttpResponse:
    """Show what the files would add or what is wrong, and take the decision."""
    if request.method == "POST":
        return decide(request, pk)
    return show(request, find_upload(request, pk))


def find_upload(request: AppRequest, pk: int) -> PendingImport:
    """Return an upload of the person, or raise Http404."""
    found: PendingImport = get_object_or_404(own_uploads(request.user), pk=pk)
    return found


def show(
    request: AppRequest, pending: PendingImport, *, status: int = 200
) -> HttpResponse:
    """Check the files against what is stored now, and show what was found."""
    return show_report(request, pending, checked(request, pending), status=status)


def checked(request: AppRequest, pending: PendingImport) -> Report:
    """Hold the files against what is stored now; nothing is stored."""
    return bring_in_upload(
        pending, by=request.user, on=timezone.localdate(), is_dry_run=True
    )


def show_report(
    request: AppRequest, pending: PendingImport, report: Report, *, status: int
) -> HttpResponse:
    """Show what was found in the files."""
    context = {
        "pending": pending,
        "report": report,
        "missing": missing_people(report),
        "outcome": outcome(report),
        "counts": counts(report),
        "remarks": remarks(report),
        "problems": report.problems[:SHOWN],
        "form_key": new_form_key(),
    }
    return render(request, "outcomes/import_preview.html", context, status=status)


def decide(request: AppRequest, pk: int) -> HttpResponse:
    """Store the files, or discard them; a repeat of either changes nothing."""
    act = ACTS.get(request.POST.get("act", ""))
    if act is None:
        return show(request, find_upload(request, pk), status=422)
    try:
        return redirect(save_once(request, lambda: act(request, pk)))
    except KeyReused:
        return form_key_reused(request)
    except NotStored:
        return show(request, find_upload(request, pk), status=422)
    except (IntegrityError, StaleEdit):
        messages.error(
            request,
            "Nothing was stored: somebody changed the same records meanwhile. Look "
            "at the files again.",
        )
        return redirect("outcomes:import_preview", pk)


def store(request: AppRequest, pk: int) -> str:
    """Store the files and delete the upload; raises NotStored."""
    waiting = own_uploads(request.user).select_for_update()
    pending = get_object_or_404(waiting, pk=pk)
    report: Report = bring_in_upload(
        pending,
        by=request.user,
        on=timezone.localdate(),
        is_dry_run=False,
        request_id=request.request_id,
    )
    if not report.is_stored:
        raise NotStored
    pending.delete()
    messages.success(request, sentence(report))
    return reverse("outcomes:caseload")


def put_away(request: AppRequest, pk: int) -> str:
    """Delete the upload without storing anything."""
    find_upload(request, pk).delete()
    messages.info(request, "The files were discarded. Nothing was stored.")
    return reverse("outcomes:import")


ACTS = {"store": store, "put_away": put_away}
