"""A person's own record, for the person who asks for it."""

from django.http import HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from clinic.access import Capability, requires
from clinic.cases import find_patient
from clinic.fresh import requires_fresh
from clinic.htmx import AppRequest
from clinic.models import AuditEvent, Patient
from clinic.posting import posted, show_form

from .. import audit
from ..access_copy.form import AccessForm
from ..access_copy.giving import give_copy


@requires(Capability.ANSWER_ACCESS)
@requires_fresh
@require_http_methods(["GET", "POST"])
def access_copy(request: AppRequest, pk: int) -> HttpResponse:
    """Say what to check first; a POST puts the request on record and sends the copy."""
    patient, on = find_patient(request.user, pk), timezone.localdate()
    form = AccessForm(posted(request), on=on)
    if not (form.is_bound and form.is_valid()):
        return show_request(request, form, patient)
    made = give_copy(
        patient,
        by=request.user,
        asked=form.asked,
        at=timezone.now(),
        request_id=request.request_id,
    )
    name = f"record-{on.isoformat()}.zip"
    return HttpResponse(
        made,
        content_type="application/zip",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )


def show_request(
    request: AppRequest, form: AccessForm, patient: Patient
) -> HttpResponse:
    """Show what to check, what is asked, and the answers of before."""
    earlier = AuditEvent.objects.for_user(request.user).filter(
        patient=patient, action=audit.ACCESS_ANSWERED.code
    )
    return show_form(
        request,
        "outcomes/access_copy.html",
        form,
        patient=patient,
        earlier=earlier.order_by("-at"),
    )
