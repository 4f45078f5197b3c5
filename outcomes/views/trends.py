"""The lead's review of the whole caseload, and a clinician's own results."""

from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from clinic.access import Capability, requires
from clinic.htmx import AppRequest, page_or_fragment
from clinic.models import Episode
from clinic.replica import reads_replica

from ..period_choice import Choice
from ..period_form import PeriodForm
from ..policies import policy_for
from ..trends_titles import TITLES

FIRST = "flow"


@requires(Capability.REVIEW_CASELOAD)
@require_GET
@reads_replica
def trends(request: AppRequest, key: str = FIRST) -> HttpResponse:
    """Show one question about the caseload, for the cases chosen."""
    if key not in TITLES:
        raise Http404
    form, context = chosen(request)
    context |= {"key": key, "section": None}
    if form.is_valid():
        (context["section"],) = built(request, form, [key])
    status = 200 if form.is_valid() else 422
    return page_or_fragment(
        request, "outcomes/trends", "trends_section", context, status=status
    )


@requires(Capability.REVIEW_CASELOAD)
@require_GET
@reads_replica
def report(request: AppRequest) -> HttpResponse:
    """Show every question on one sheet, with nothing that a reader could work out."""
    form, context = chosen(request)
    context["sections"] = []
    if form.is_valid():
        context["sections"] = built(request, form, TITLES, is_shared=True)
    status = 200 if form.is_valid() else 422
    return render(request, "outcomes/trends_report.html", context, status=status)


@requires(Capability.REVIEW_CASELOAD)
@require_GET
@reads_replica
def cases(request: AppRequest, key: str) -> HttpResponse:
    """Show the cases behind one number of a section."""
    form, context = chosen(request)
    if key not in TITLES or not form.is_valid():
        raise Http404
    (section,) = built(request, form, [key])
    name = request.GET.get("set", "")
    if name not in section.sets:
        raise Http404
    rows = Episode.objects.for_user(request.user).filter(pk__in=section.sets[name])
    rows = rows.select_related("patient", "clinician").order_by("opened_on", "pk")
    words = section.words_of(name)
    context |= {"key": key, "section": section, "rows": rows, "words": words}
    return render(request, "outcomes/trends_cases.html", context)


@requires(Capability.TREAT)
@require_GET
@reads_replica
def my_results(request: AppRequest) -> HttpResponse:
    """Show a clinician's own point beside the clinic's, and nobody else's name."""
    from ..trends.between import build_own, standing_choice
    from ..trends.reading import read_period

    policy = policy_for(request.user.site)
    standing = standing_choice(policy, on=timezone.localdate())
    form, context = chosen(request, standing)
    context |= {"section": None, "standing": standing}
    if form.is_valid():
        data = read_period(request.user.site, form.whole_clinic, on=context["on"])
        context["section"] = build_own(data, request.user.pk)
    status = 200 if form.is_valid() else 422
    return render(request, "outcomes/my_results.html", context, status=status)


def chosen(
    request: AppRequest, first: Choice | None = None
) -> tuple[PeriodForm, dict[str, Any]]:
    """Return the choice of cases as a form, and what every page of these shows.

    `first` is the period that stands before anybody chooses one.
    """
    on, sent = timezone.localdate(), request.GET.copy()
    if first and not sent:
        sent["opened_from"] = first.from_on.isoformat()
        sent["opened_until"] = first.until_on.isoformat()
    form = PeriodForm(sent, site=request.user.site, on=on)
    return form, {"form": form, "on": on, "titles": TITLES}


def built(
    request: AppRequest, form: PeriodForm, keys: Any, *, is_shared: bool = False
) -> list[Any]:
    """Return the sections of these keys for the chosen cases of the site."""
    from ..trends.reading import build_sections

    today = timezone.localdate()
    return build_sections(
        request.user.site, form.choice, on=today, keys=keys, is_shared=is_shared
    )
