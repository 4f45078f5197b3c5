"""Reference periods: which are in force, and declaring one."""

from datetime import date
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from clinic.access import Capability, requires
from clinic.htmx import AppRequest
from clinic.posting import posted, saved, show_form

from ..reference_form import ReferenceForm
from ..reference_subjects import SUBJECTS, ReferenceSubject
from ..references import declare_reference, reference_in_force, references_of


@requires(Capability.REVIEW_CASELOAD)
@require_GET
def references(request: AppRequest) -> HttpResponse:
    """Show what each subject is held against, and what it was before."""
    declared = references_of(request.user.site)
    subjects = [(about, declared.get(about.subject, [])) for about in SUBJECTS.values()]
    return render(request, "outcomes/references.html", {"subjects": subjects})


@requires(Capability.REVIEW_CASELOAD)
@require_http_methods(["GET", "POST"])
def declare(request: AppRequest, subject: str) -> HttpResponse:
    """Freeze the numbers of a period for one subject, in place of the earlier ones."""
    about = SUBJECTS.get(subject)
    if about is None:
        raise Http404
    form = reference_form(request, about)

    def act() -> str:
        declare_reference(
            site=request.user.site,
            by=request.user,
            subject=about.subject,
            numbers=form.numbers,
            **form.cleaned_data,
        )
        messages.success(request, "The reference period is declared.")
        return reverse("outcomes:trends_section", args=[about.section])

    return saved(request, act, form) or show_form(
        request,
        "outcomes/declare_reference.html",
        form,
        about=about,
        standing=reference_in_force(request.user.site, about.subject),
    )


def reference_form(request: AppRequest, about: ReferenceSubject) -> ReferenceForm:
    """Return the form of one subject, with the arithmetic that freezes it."""
    site, on = request.user.site, timezone.localdate()

    def freeze(from_on: date, until_on: date) -> dict[str, Any]:
        from ..trends.freezing import frozen_numbers

        return frozen_numbers(site, about, from_on=from_on, until_on=until_on, on=on)

    return ReferenceForm(posted(request), freeze=freeze, on=on)
