"""Lines of a programme: prescribe, change, stop; and working out a load."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from clinic.access import Capability, requires
from clinic.cases import find_case
from clinic.htmx import AppRequest, page_or_fragment
from clinic.models import Episode
from clinic.posting import posted, show_form

from .. import prescribing
from ..answering import keep_edited
from ..cautions import cautions_for
from ..dose_help import DoseHelpForm
from ..finding import find_line_to_plan, find_phase_to_plan, plan_page, refuse_over
from ..flow_words import flow_words
from ..gates import dosing_for, flow_status
from ..keeping import kept
from ..library_shelves import shelves
from ..lines import Line, chosen_entry, key_of, line_of
from ..models import Phase, Prescription
from ..next_steps import step_to_edit
from ..own_exercises import own_exercises
from ..plans import line_view
from ..prescription_form import PrescriptionForm
from ..programme_forms import StopForm
from ..proposals import moved, proposed
from ..suggesting import NextStep


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def prescribe(request: AppRequest, pk: int) -> HttpResponse:
    """Choose an exercise, then say how it is dosed."""
    on = timezone.localdate()
    phase = find_phase_to_plan(request.user, pk, on=on)
    if refusal := refuse_over(request, phase.programme):
        return refusal
    entry = entry_asked_for(request)
    if entry is None:
        return choose(request, phase)
    line = proposed(entry)
    form = form_for(request, phase, line, is_change=False)

    def act() -> str:
        made = prescribing.prescribe(
            phase,
            by=request.user,
            line=form.line,
            on=on,
            starts_on=form.cleaned_data["starts_on"],
            why=form.cleaned_data["why"],
        )
        messages.success(request, f"{form.line.name} is prescribed.")
        return f"{plan_page(phase.programme)}#line-{made.pk}"

    return kept(request, act, form) or show_line(request, form, phase, line)


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def change_prescription(request: AppRequest, pk: int) -> HttpResponse:
    """Put another line in the place of one; the old one stays readable."""
    on = timezone.localdate()
    old = find_line_to_plan(request.user, pk, on=on)
    if refusal := refuse_over(request, old.phase.programme, old):
        return refusal
    step = step_of(request, old)
    line = line_to_change(request, old, step)
    form = form_for(request, old.phase, line, is_change=True)
    form.fields["why"].initial = step.why if step else ""

    def act() -> str:
        made = prescribing.change_prescription(
            old,
            by=request.user,
            line=form.line,
            on=on,
            why=form.cleaned_data["why"],
        )
        if step:
            keep_edited(step, made, by=request.user, on=on)
        messages.success(request, f"{form.line.name} is changed; the old line stays.")
        return f"{plan_page(old.phase.programme)}#line-{made.pk}"

    return kept(request, act, form) or show_line(
        request, form, old.phase, line, old=line_view([old], on=on)
    )


def step_of(request: AppRequest, old: Prescription) -> NextStep | None:
    """Return the suggestion that the form was opened from, while it still stands."""
    case, token = old.phase.programme.episode, request.GET.get("suggestion", "")
    assert case is not None  # noqa: S101 (planning pages are about cases)
    return step_to_edit(case, old, token=token, on=timezone.localdate())


def line_to_change(
    request: AppRequest, old: Prescription, step: NextStep | None
) -> Line:
    """Return what the form starts from: as suggested, on another rung, or as it was."""
    line, entry = line_of(old), entry_asked_for(request)
    key = key_of(proposed(entry)) if entry is not None else key_of(line)
    if step and step.changed and key_of(step.changed) in (key, key_of(line)):
        return step.changed
    return line if key == key_of(line) else moved(line, entry)


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def stop_prescription(request: AppRequest, pk: int) -> HttpResponse:
    """End a line without another in its place."""
    on = timezone.localdate()
    old = find_line_to_plan(request.user, pk, on=on)
    if refusal := refuse_over(request, old.phase.programme, old):
        return refusal
    form = StopForm(posted(request), line=old, on=on)

    def act() -> str:
        prescribing.stop_prescription(
            old,
            by=request.user,
            on=form.cleaned_data["stops_on"],
            why=form.cleaned_data["why"],
        )
        messages.success(request, "The line is stopped; it stays readable.")
        return plan_page(old.phase.programme)

    return kept(request, act, form) or show_form(
        request,
        "programs/stop.html",
        form,
        case=old.phase.programme.episode,
        old=line_view([old], on=on),
    )


@requires(Capability.SEE_CASES)
@require_http_methods(["GET", "POST"])
def dose_help(request: AppRequest, pk: int) -> HttpResponse:
    """Work out 1RM and a load from a set; nothing of it is kept."""
    case = find_case(request.user, pk)
    form = help_form(case, request.POST if request.method == "POST" else None)
    is_answered = form.is_bound and form.is_valid()
    context = {
        "case": case,
        "help_form": form,
        "found": form.found if form.is_bound else None,
        "cautions": cautions_for(case, on=timezone.localdate()),
    }
    return page_or_fragment(
        request,
        "programs/dose_help",
        "dose_help",
        context,
        status=422 if form.is_bound and not is_answered else 200,
    )


def help_form(case: Episode, data: Any = None) -> DoseHelpForm:
    """Return the form for a set of this case."""
    return DoseHelpForm(
        data,
        policy=dosing_for(case.site),
        is_highly_irritable=case.irritability == Episode.Irritability.HIGH,
    )


def entry_asked_for(request: AppRequest) -> Any:
    """Return the entry that the address or the form names; None if it names none."""
    key = request.POST.get("exercise") or request.GET.get("exercise")
    if not key:
        return None
    entry = chosen_entry(key, own_exercises(request.user))
    if entry is None:
        raise Http404("No such exercise, or it was retired.")
    return entry


def form_for(
    request: AppRequest, phase: Phase, line: Line, *, is_change: bool
) -> PrescriptionForm:
    """Return the form of a line, for this case and this site's numbers."""
    case = prescribing.episode_of(phase.programme)
    return PrescriptionForm(
        posted(request),
        line=line,
        case=case,
        policy=dosing_for(case.site),
        on=timezone.localdate(),
        is_change=is_change,
    )


def choose(request: AppRequest, phase: Phase) -> HttpResponse:
    """Show the library to choose from, ladder by ladder."""
    case, on = prescribing.episode_of(phase.programme), timezone.localdate()
    context = {
        "case": case,
        "phase": phase,
        "shelves": shelves(own_exercises(request.user)),
        "cautions": cautions_for(case, on=on),
        "flow": flow_words(flow_status(case, on=on)),
    }
    return page_or_fragment(
        request, "programs/prescribe_choose", "library_shelves", context
    )


def show_line(
    request: AppRequest,
    form: PrescriptionForm,
    phase: Phase,
    line: Line,
    **context: Any,
) -> HttpResponse:
    """Show the form of a line with the cautions of the case and the flow screen."""
    case, on = prescribing.episode_of(phase.programme), timezone.localdate()
    return show_form(
        request,
        "programs/prescribe.html",
        form,
        case=case,
        phase=phase,
        line=line,
        entry=line.entry,
        key=key_of(line),
        cautions=cautions_for(case, on=on),
        flow=flow_words(flow_status(case, on=on)) if line.is_flow_restricted else None,
        help_form=help_form(case),
        **context,
    )
