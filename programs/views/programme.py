"""The programme of a case: read it, begin, copy, end, keep as a template; phases."""

from copy import copy
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from clinic.access import Capability, requires
from clinic.cases import find_case, find_case_to_treat, treats
from clinic.htmx import AppRequest
from clinic.models import Episode
from clinic.posting import posted, posted_version, saved_before, show_form
from clinic.refusals import refuse_closed

from .. import copying, planning
from ..cautions import cautions_for
from ..dose_words import dose_words
from ..finding import (
    find_phase_to_plan,
    find_programme_to_plan,
    may_withdraw,
    plan_page,
    refuse_over,
)
from ..flow_words import flow_words
from ..gates import flow_status
from ..keeping import kept
from ..lines import line_of
from ..models import Programme
from ..next_steps import read_advice
from ..plans import plan_of
from ..programme_forms import (
    CopyForm,
    EndProgrammeForm,
    PhaseForm,
    StartForm,
    TemplateForm,
)


@requires(Capability.SEE_CASES)
@require_GET
def programme(request: AppRequest, pk: int) -> HttpResponse:
    """Show the running programme of a case and the earlier ones."""
    case, on = find_case(request.user, pk), timezone.localdate()
    context = {
        "case": case,
        "on": on,
        "plan": plan_of(case, on=on),
        "advice": read_advice(case, on=on),
        "treats": treats(request.user, case, on=on),
        "flow": flow_words(flow_status(case, on=on)),
        "cautions": cautions_for(case, on=on),
    }
    return render(request, "programs/programme.html", context)


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def new_programme(request: AppRequest, pk: int) -> HttpResponse:
    """Begin a programme from nothing, or as a copy of the one that was chosen."""
    on = timezone.localdate()
    case = find_case_to_treat(request.user, pk, on=on)
    if refusal := refuse_second(request, case):
        return refusal
    chosen = request.POST.get("source") or request.GET.get("source")
    if chosen:
        return copy_into(request, case, chosen)
    form = StartForm(posted(request), case=case, on=on)

    def act() -> str:
        planning.start_programme(case, by=request.user, **form.cleaned_data)
        messages.success(request, "The programme has begun. Now prescribe in it.")
        return reverse("programs:programme", args=[case.pk])

    return kept(request, act, form) or show_form(
        request,
        "programs/new_programme.html",
        form,
        case=case,
        sources=sources_of(request, case),
    )


def sources_of(request: AppRequest, case: Episode) -> list[tuple[Programme, bool]]:
    """Return what may be copied, each with whether one may withdraw the template."""
    found = copying.sources_for(case, request.user).order_by("title", "-pk")
    return [(one, may_withdraw(request.user, one)) for one in found]


def refuse_second(request: AppRequest, case: Episode) -> HttpResponse | None:
    """Turn back where a programme runs already, or the case is not in care."""
    if request.method == "POST" and (earlier := saved_before(request)):
        return redirect(earlier)
    if refusal := refuse_closed(request, case):
        return refusal
    if not case.programmes.standing().filter(ended_on__isnull=True).exists():
        return None
    messages.error(request, "A programme is running. End it before you begin another.")
    return redirect("programs:programme", pk=case.pk)


def copy_into(request: AppRequest, case: Episode, chosen: str) -> HttpResponse:
    """Begin a programme as a copy; lines that cannot be are named, none is hidden."""
    on = timezone.localdate()
    wanted = int(chosen) if chosen.isascii() and chosen.isdigit() else 0
    source = get_object_or_404(copying.sources_for(case, request.user), pk=wanted)
    form = CopyForm(posted(request), source=source)

    def act() -> str:
        copied = copying.copy_programme(
            source,
            episode=case,
            by=request.user,
            on=on,
            title=form.cleaned_data["title"],
            cuff=form.cuff,
            is_leaving_out=form.cleaned_data["is_leaving_out"],
        )
        say_copied(request, copied)
        return reverse("programs:programme", args=[case.pk])

    return kept(request, act, form) or show_copy(request, form, case, source)


def show_copy(
    request: AppRequest, form: CopyForm, case: Episode, source: Programme
) -> HttpResponse:
    """Show what would be copied, line by line, before it is."""
    on = timezone.localdate()
    lines = [line_of(row) for row in copying.last_lines(source)]
    return show_form(
        request,
        "programs/new_programme_copy.html",
        form,
        case=case,
        source=source,
        lines=[(line, dose_words(line)) for line in lines],
        has_flow=any(line.is_flow_restricted for line in lines),
        flow=flow_words(flow_status(case, on=on)),
        cautions=cautions_for(case, on=on),
    )


def say_copied(request: AppRequest, copied: copying.Copied) -> None:
    """Tell what was copied, and name every line that was not."""
    messages.success(request, "The programme is copied. Look at each dose and load.")
    for one in copied.left_out:
        messages.warning(request, f"Left out: {one.name}. {one.reason}")


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def end_programme(request: AppRequest, pk: int) -> HttpResponse:
    """End a programme, or withdraw one that was entered by mistake."""
    on = timezone.localdate()
    found = find_programme_to_plan(request.user, pk, on=on)
    if refusal := refuse_ended(request, found):
        return refusal
    form = EndProgrammeForm(posted(request), programme=found, on=on)

    def act() -> str:
        close(request, found, form)
        return plan_page(found)

    return kept(request, act, form) or show_form(
        request,
        "programs/programme_end.html",
        form,
        case=found.episode,
        programme=found,
        version=found.version,
    )


def close(request: AppRequest, found: Programme, form: EndProgrammeForm) -> None:
    """End the programme or withdraw it, as the form says."""
    version, why = posted_version(request), form.cleaned_data["why"]
    if form.is_void:
        planning.void_programme(found, by=request.user, why=why, version=version)
        messages.success(request, "The programme is withdrawn; it stays on record.")
        return
    ended_on = form.cleaned_data["ended_on"]
    planning.end_programme(
        found, by=request.user, on=ended_on, why=why, version=version
    )
    messages.success(request, "The programme has ended with all its lines.")


def refuse_ended(request: AppRequest, found: Programme) -> HttpResponse | None:
    """Turn back from a programme that is over; a discharged case may end its own."""
    if request.method == "POST" and (earlier := saved_before(request)):
        return redirect(earlier)
    if not (found.voided_at or found.ended_on):
        return None
    messages.error(request, "This programme is over already.")
    return redirect(plan_page(found))


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def make_template(request: AppRequest, pk: int) -> HttpResponse:
    """Keep a programme as a template of the site, without the person."""
    found = find_programme_to_plan(request.user, pk, on=timezone.localdate())
    form = TemplateForm(posted(request))

    def act() -> str:
        title = form.cleaned_data["title"]
        copying.save_as_template(found, by=request.user, title=title)
        messages.success(request, f"“{title}” can now be copied into any case.")
        return plan_page(found)

    lines = [line_of(row) for row in copying.last_lines(found)]
    return kept(request, act, form) or show_form(
        request,
        "programs/programme_template.html",
        form,
        case=found.episode,
        programme=found,
        lines=[(line, dose_words(line)) for line in lines],
    )


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def add_phase(request: AppRequest, pk: int) -> HttpResponse:
    """Add a phase to a programme."""
    on = timezone.localdate()
    found = find_programme_to_plan(request.user, pk, on=on)
    if refusal := refuse_over(request, found):
        return refusal
    form = PhaseForm(posted(request), programme=found, on=on)

    def act() -> str:
        planning.add_phase(found, by=request.user, **form.details)
        messages.success(request, "The phase is added.")
        return plan_page(found)

    return kept(request, act, form) or show_phase(request, form, found, heading="Add")


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def change_phase(request: AppRequest, pk: int) -> HttpResponse:
    """Change a phase; its first day begins the lines that waited for it."""
    on = timezone.localdate()
    phase = find_phase_to_plan(request.user, pk, on=on)
    if refusal := refuse_over(request, phase.programme):
        return refusal
    # A copy, because cleaning writes what was typed into it.
    form = PhaseForm(
        posted(request), instance=copy(phase), programme=phase.programme, on=on
    )

    def act() -> str:
        planning.change_phase(
            phase,
            by=request.user,
            on=on,
            version=posted_version(request),
            **form.details,
        )
        messages.success(request, "The phase is changed.")
        return plan_page(phase.programme)

    return kept(request, act, form) or show_phase(
        request, form, phase.programme, heading="Change", phase=phase
    )


def show_phase(
    request: AppRequest, form: PhaseForm, found: Programme, **context: Any
) -> HttpResponse:
    """Show the form of a phase."""
    return show_form(
        request,
        "programs/phase.html",
        form,
        case=found.episode,
        programme=found,
        version=found.version,
        **context,
    )
