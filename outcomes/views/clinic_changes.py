"""Changes in the clinic that the lead notes on the figures over time."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from clinic.access import Capability, requires
from clinic.htmx import AppRequest
from clinic.posting import posted, saved, show_form

from ..care_forms import WhyForm
from ..clinic_change_form import ClinicChangeForm
from ..clinic_changes import void_change
from ..models import ClinicChange


@requires(Capability.REVIEW_CASELOAD)
@require_http_methods(["GET", "POST"])
def note(request: AppRequest) -> HttpResponse:
    """Note a change, and list those that stand."""
    form = ClinicChangeForm(posted(request), on=timezone.localdate())

    def act() -> str:
        form.keep(site=request.user.site, by=request.user)
        messages.success(request, "The change is noted; the figures show it.")
        return reverse("outcomes:trends_note_change")

    noted = ClinicChange.objects.for_user(request.user).standing()
    return saved(request, act, form) or show_form(
        request,
        "outcomes/clinic_changes.html",
        form,
        noted=noted.select_related("by").order_by("-happened_on", "-pk"),
    )


@requires(Capability.REVIEW_CASELOAD)
@require_http_methods(["GET", "POST"])
def void(request: AppRequest, pk: int) -> HttpResponse:
    """Withdraw a change; it stays on record, with who, when and why."""
    change = get_object_or_404(ClinicChange.objects.for_user(request.user), pk=pk)
    form = WhyForm(posted(request))
    back = reverse("outcomes:trends_note_change")
    if request.method == "GET" and not change.is_standing:
        return redirect(back)

    def act() -> str:
        if void_change(change, by=request.user, why=form.cleaned_data["why"]):
            messages.success(request, "The change is voided; it stays on record.")
        else:
            messages.warning(request, "Somebody voided this change before you.")
        return back

    return saved(request, act, form) or show_form(
        request, "outcomes/clinic_change_void.html", form, change=change
    )
