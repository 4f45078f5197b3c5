"""The end of an episode, and taking it back."""

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from clinic import admitting
from clinic.access import Capability, requires
from clinic.cases import find_case_to_treat
from clinic.htmx import AppRequest
from clinic.models import Episode
from clinic.posting import posted, posted_version, saved, show_form
from clinic.refusals import refuse_closed, refuse_voided
from clinic.screening import UndecidedRedFlag

from ..care_forms import WhyForm
from ..case_forms import clash_of
from ..ending import END_WITHIN_DAYS, DischargeForm
from ..open_flags import open_flags


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def discharge(request: AppRequest, pk: int) -> HttpResponse:
    """End the episode with a reason, after a look at its end measures."""
    on = timezone.localdate()
    case = find_case_to_treat(request.user, pk, on=on)
    if refusal := refuse_closed(request, case):
        return refusal
    form = DischargeForm(posted(request), case=case, on=on)

    def act() -> str:
        version = posted_version(request)
        admitting.discharge(case, by=request.user, version=version, **form.details)
        messages.success(request, "The case is discharged. Its record stays.")
        return case.get_absolute_url()

    return saved_if_decided(request, act, form) or show_form(
        request,
        "outcomes/discharge.html",
        form,
        case=case,
        flags=open_flags(case),
        version=case.version,
        within_days=END_WITHIN_DAYS,
    )


def saved_if_decided(
    request: AppRequest, act: Callable[[], str], form: DischargeForm
) -> HttpResponse | None:
    """Save the discharge, or name the red-flag answers that await a decision."""
    try:
        return saved(request, act, form)
    except UndecidedRedFlag as waiting:
        form.add_error(None, f"{waiting} Decide in words before the discharge.")
        return None


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def take_back(request: AppRequest, pk: int) -> HttpResponse:
    """Put a case back in care after a discharge made by mistake."""
    case = find_case_to_treat(request.user, pk, on=timezone.localdate())
    if refusal := refuse_voided(request, case):
        return refusal
    if case.is_open:
        messages.info(request, "This case is in care; there is nothing to take back.")
        return redirect(case)
    if clash := later_episode(case):
        context = {"case": case, "clash": clash}
        return render(request, "outcomes/take_back.html", context)
    form, version = WhyForm(posted(request)), posted_version(request)

    def act() -> str:
        why = form.cleaned_data["why"]
        admitting.take_back_discharge(case, by=request.user, why=why, version=version)
        messages.success(request, "The discharge is taken back; the case is in care.")
        return case.get_absolute_url()

    return saved(request, act, form) or show_form(
        request, "outcomes/take_back.html", form, case=case, version=case.version
    )


def later_episode(case: Episode) -> Episode | None:
    """Return an episode of the knee that an open end would run into; one query."""
    return clash_of(
        patient=case.patient,
        side=case.side,
        from_on=case.opened_on,
        until_on=None,
        but=case.pk,
    )
