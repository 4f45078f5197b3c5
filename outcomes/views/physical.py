"""Physical tests of a case: choose one, record it, void a result."""

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from clinic.access import Capability, requires
from clinic.cases import find_case_to_treat
from clinic.htmx import AppRequest
from clinic.models import Episode
from clinic.posting import posted, saved, show_form
from clinic.refusals import refuse_voided
from clinic.templatetags.clinic_format import day

from .. import physical_recording
from ..models import PhysicalResult
from ..physical_course import PhysicalDay, physical_days, results_of
from ..physical_form import PhysicalForm
from ..physical_panels import threshold_notes
from ..science.physical_file import physical_tests
from ..science.physical_tests import PhysicalTest
from .visits import ask_why, find_case_in_use


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def record_test(request: AppRequest, pk: int) -> HttpResponse:
    """Choose a test, or record the chosen one; both sides are saved at once."""
    case = find_case_to_treat(request.user, pk, on=timezone.localdate())
    if refusal := refuse_voided(request, case):
        return refusal
    days = physical_days(results_of(case), index=case.side)
    key = request.GET.get("test", "")
    if not key:
        return show_choice(request, case, days)
    if key not in physical_tests():
        raise Http404("There is no such test.")
    return ask_or_save(request, case, physical_tests()[key], days.get(key, []))


def show_choice(
    request: AppRequest, case: Episode, days: dict[str, list[PhysicalDay]]
) -> HttpResponse:
    """Show the tests to choose from, each with what it gave last."""
    choice = [
        (about, days[key][-1] if key in days else None)
        for key, about in physical_tests().items()
    ]
    context = {"case": case, "choice": choice}
    return render(request, "outcomes/physical_choice.html", context)


def ask_or_save(
    request: AppRequest, case: Episode, about: PhysicalTest, days: list[PhysicalDay]
) -> HttpResponse:
    """Show the form of one test, or keep it and say what it amounts to."""
    last = days[-1] if days else None
    form = PhysicalForm(
        posted(request),
        about=about,
        episode=case,
        on=timezone.localdate(),
        unit=last.lines[0].result.unit if last else "",
    )

    def act() -> str:
        messages.success(request, keep(request, case, form).sentence)
        return reverse("outcomes:record_test", args=[case.pk])

    return saved(request, act, form) or show_form(
        request,
        "outcomes/physical.html",
        form,
        case=case,
        about=about,
        last=last,
        threshold_notes=threshold_notes(about),
    )


def keep(request: AppRequest, case: Episode, form: PhysicalForm) -> PhysicalDay:
    """Save the test and return its day, with what was entered for it before."""
    entry = form.to_entry()
    physical_recording.record_physical_test(episode=case, by=request.user, entry=entry)
    kept = physical_days(results_of(case), index=case.side)[entry.test]
    return next(one for one in kept if one.on == entry.tested_on)


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def void_result(request: AppRequest, pk: int) -> HttpResponse:
    """Withdraw one side of one test."""
    rows = PhysicalResult.objects.for_user(request.user)
    found: PhysicalResult = get_object_or_404(rows, pk=pk)
    found.episode = find_case_in_use(request, found.episode_id)
    if not found.is_standing:
        messages.info(request, f"This result is void already: {found.void_reason}")
        return redirect(found.episode)

    def void(why: str) -> None:
        physical_recording.void_physical_result(found, by=request.user, why=why)

    about = physical_tests()[found.test]
    side = f", {found.side}" if found.side else ""
    name = f"result of {about.short_name.lower()}{side}, {day(found.tested_on)}"
    return ask_why(request, found.episode, name, void)
