"""The dosing policy of the site, and whether suggestions are shown."""

from django.contrib import messages
from django.http import HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from clinic.access import Capability, requires
from clinic.htmx import AppRequest
from clinic.posting import posted, posted_version, saved, show_form

from ..dosing.response import CLINICIAN_DECIDES
from ..dosing_form import DosingForm
from ..dosing_policies import change_dosing
from ..gates import stored_dosing


@requires(Capability.EDIT_POLICY)
@require_http_methods(["GET", "POST"])
def dosing_policy(request: AppRequest) -> HttpResponse:
    """Show every number with its reason; change some, or turn suggestions off."""
    row = stored_dosing(request.user.site)
    form = DosingForm(posted(request), stored=row)

    def act() -> str:
        change_dosing(
            site=request.user.site,
            by=request.user,
            values=form.differing,
            is_advice_on=form.cleaned_data["is_advice_on"],
            version=posted_version(request),
        )
        messages.success(
            request,
            "The dosing policy is changed. It holds for the whole clinic from now on.",
        )
        return reverse("programs:dosing_policy")

    return saved(request, act, form) or show_form(
        request,
        "programs/dosing_policy.html",
        form,
        version=posted_version(request) or (row.version if row else 0),
        row=row,
        reminder=CLINICIAN_DECIDES,
    )
