"""What a person wishes about the use of their data for audit."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from clinic.access import Capability, requires
from clinic.cases import find_patient
from clinic.htmx import AppRequest
from clinic.posting import posted, saved, show_form

from ..sharing_form import SharingForm
from .admission import may_change


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def sharing(request: AppRequest, pk: int) -> HttpResponse:
    """Record that a person declines the use for audit, or allows it again."""
    person = find_patient(request.user, pk)
    if not may_change(request, person):
        raise PermissionDenied("Only those who treat this person record their choice.")
    form = SharingForm(posted(request), patient=person, on=timezone.localdate())

    def act() -> str:
        form.keep(by=request.user)
        messages.success(request, "The choice about audit is on record.")
        return person.get_absolute_url()

    return saved(request, act, form) or show_form(
        request, "outcomes/sharing.html", form, patient=person
    )
