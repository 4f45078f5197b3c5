"""One case as a file that another system reads."""

from django import forms
from django.http import HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from clinic.access import Capability, requires
from clinic.cases import find_case_to_treat
from clinic.htmx import AppRequest
from clinic.posting import posted, show_form
from clinic.refusals import refuse_voided

from ..interchange.reading import read_content
from ..interchange.sending import counts, send_case


class BundleForm(forms.Form):
    """Who gets the file."""

    recipient = forms.CharField(
        max_length=200,
        label="Who gets it",
        help_text="The practice or the system, and for what. It goes on record.",
        error_messages={"required": "Say who gets the file."},
    )


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def bundle(request: AppRequest, pk: int) -> HttpResponse:
    """Say what the file holds; a POST puts it on record and sends it."""
    now = timezone.now()
    case = find_case_to_treat(request.user, pk, on=timezone.localdate())
    if refusal := refuse_voided(request, case):
        return refusal
    form = BundleForm(posted(request))
    if not (form.is_bound and form.is_valid()):
        holds = counts(read_content(case, at=now))
        return show_form(request, "outcomes/bundle.html", form, case=case, holds=holds)
    made = send_case(
        case,
        by=request.user,
        recipient=form.cleaned_data["recipient"],
        at=now,
        request_id=request.request_id,
    )
    name = f"case-{timezone.localdate().isoformat()}.json"
    return HttpResponse(
        made,
        content_type="application/fhir+json",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )
