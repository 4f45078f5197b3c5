"""The safety pages of a case: flow-restriction screen, events, other care."""

from collections.abc import Callable
from datetime import date
from typing import Any, TypeVar

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from clinic.access import Capability, requires
from clinic.cases import find_case, find_case_to_treat, treats
from clinic.htmx import AppRequest
from clinic.models import Episode
from clinic.posting import posted, saved, show_form
from clinic.refusals import refuse_closed, refuse_voided
from clinic.templatetags.clinic_format import day

from .. import safety, safety_records
from ..dosing.flow_questions import questions
from ..flow_answers import stops_of
from ..flow_form import FlowScreenForm
from ..flow_words import flow_words
from ..gates import dosing_for, flow_status
from ..models import AdverseEvent, FlowScreen, OtherCare
from ..safety_forms import EndForm, EventForm, OtherCareForm, WhyForm

Row = TypeVar("Row", FlowScreen, AdverseEvent, OtherCare)


def find_case_for(request: AppRequest, pk: int) -> Episode:
    """Return a case to read; to write in it, it has to be one's own or covered."""
    if request.method == "POST":
        return find_case_to_treat(request.user, pk, on=timezone.localdate())
    return find_case(request.user, pk)


def may_write(request: AppRequest, case: Episode) -> bool:
    """Tell whether the person may enter something in the case."""
    return treats(request.user, case, on=timezone.localdate())


@requires(Capability.SEE_CASES)
@require_http_methods(["GET", "POST"])
def flow_screen(request: AppRequest, pk: int) -> HttpResponse:
    """Show whether a cuff may be prescribed; ask the whole screen."""
    case, on = find_case_for(request, pk), timezone.localdate()
    if refusal := refuse_closed(request, case):
        return refusal
    form = FlowScreenForm(
        posted(request),
        stops=stops_of(case),
        elsewhere=safety_records.yes_elsewhere(case),
        on=on,
    )

    def act() -> str:
        sign_screen(request, case, form)
        return reverse("programs:flow_screen", args=[case.pk])

    return saved(request, act, form) or show_form(
        request,
        "programs/flow_screen.html",
        form,
        case=case,
        may_write=may_write(request, case),
        **flow_context(case, on=on),
    )


def flow_context(case: Episode, *, on: date) -> dict[str, Any]:
    """Return what the page of the screen shows around its form."""
    return {
        "status": flow_words(flow_status(case, on=on)),
        "questions": questions(),
        "sources": safety_records.sources_of(questions()),
        "policy": dosing_for(case.site),
        "lines": safety_records.screens_of(case),
    }


def sign_screen(request: AppRequest, case: Episode, form: FlowScreenForm) -> None:
    """Keep what was answered, and say what it allows."""
    safety.sign_flow_screen(
        episode=case,
        by=request.user,
        on=form.on,
        answers=form.answers(),
        decision=form.cleaned_data["decision"],
        clearance=form.clearance(),
    )
    words = flow_words(flow_status(case, on=form.on))
    note = messages.success if words.is_open else messages.warning
    note(request, f"The screen is signed and on record. {words.title}.")


@requires(Capability.SEE_CASES)
@require_http_methods(["GET", "POST"])
def report_event(request: AppRequest, pk: int) -> HttpResponse:
    """Keep what went wrong; list what is on record, also after discharge."""
    case, on = find_case_for(request, pk), timezone.localdate()
    if refusal := refuse_voided(request, case):
        return refusal
    form = EventForm(posted(request), case=case, on=on)

    def act() -> str:
        had_valid_screen = flow_status(case, on=on).is_open
        safety.report_event(episode=case, by=request.user, **form.cleaned_data)
        messages.success(request, "The event is on record.")
        if had_valid_screen:
            messages.warning(
                request,
                "The flow-restriction screen no longer holds: answer it again before "
                "the next session with a cuff.",
            )
        return reverse("programs:report_event", args=[case.pk])

    return saved(request, act, form) or show_form(
        request,
        "programs/event.html",
        form,
        case=case,
        may_write=may_write(request, case),
        lines=safety_records.events_of(case),
    )


@requires(Capability.SEE_CASES)
@require_http_methods(["GET", "POST"])
def add_other_care(request: AppRequest, pk: int) -> HttpResponse:
    """Keep care outside the programme; list what is on record."""
    case, on = find_case_for(request, pk), timezone.localdate()
    if refusal := refuse_voided(request, case):
        return refusal
    form = OtherCareForm(posted(request), case=case, on=on)

    def act() -> str:
        safety.record_other_care(episode=case, by=request.user, **form.cleaned_data)
        messages.success(request, "It is on record.")
        return reverse("programs:add_other_care", args=[case.pk])

    return saved(request, act, form) or show_form(
        request,
        "programs/other_care.html",
        form,
        case=case,
        may_write=may_write(request, case),
        lines=safety_records.other_care_of(case),
    )


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def end_other_care(request: AppRequest, pk: int) -> HttpResponse:
    """Ask for the last day of other care."""
    care = find_row(request, OtherCare, pk)
    back = reverse("programs:add_other_care", args=[care.episode_id])
    form = EndForm(posted(request), care=care, on=timezone.localdate())

    def act() -> str:
        safety.end_other_care(care, by=request.user, on=form.cleaned_data["ended_on"])
        messages.success(request, "The end is on record.")
        return back

    if not care.is_standing:
        messages.info(request, "This entry was voided; it has no end to enter.")
        return redirect(back)
    return saved(request, act, form) or show_form(
        request,
        "programs/other_care_end.html",
        form,
        case=care.episode,
        care=care,
        back=back,
    )


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def void_flow_screen(request: AppRequest, pk: int) -> HttpResponse:
    """Withdraw a screen that was answered by mistake."""
    screen = find_row(request, FlowScreen, pk)

    def void(why: str) -> None:
        safety.void_flow_screen(screen, by=request.user, why=why)

    return ask_why(
        request,
        screen,
        void,
        what=f"flow-restriction screen of {day(screen.answered_on)}",
        means="The screen before it counts again, if there is one. Use this for a "
        "slip only; a contraindication is cleared by a physician.",
        back=reverse("programs:flow_screen", args=[screen.episode_id]),
    )


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def void_event(request: AppRequest, pk: int) -> HttpResponse:
    """Withdraw an event that was reported by mistake."""
    event = find_row(request, AdverseEvent, pk)

    def void(why: str) -> None:
        safety.void_event(event, by=request.user, why=why)

    return ask_why(
        request,
        event,
        void,
        what=f"adverse event of {day(event.happened_on)}",
        means="A flow-restriction screen that only this event had ended holds again.",
        back=reverse("programs:report_event", args=[event.episode_id]),
    )


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def void_other_care(request: AppRequest, pk: int) -> HttpResponse:
    """Withdraw other care that was noted by mistake."""
    care = find_row(request, OtherCare, pk)

    def void(why: str) -> None:
        safety.void_other_care(care, by=request.user, why=why)

    return ask_why(
        request,
        care,
        void,
        what=f"{care.get_what_display().lower()} from {day(care.began_on)}",
        means="It no longer counts in this case.",
        back=reverse("programs:add_other_care", args=[care.episode_id]),
    )


def find_row(request: AppRequest, kind: type[Row], pk: int) -> Row:
    """Return a row of a case to write in that was not voided as a whole."""
    row = get_object_or_404(kind.objects.for_user(request.user), pk=pk)
    row.episode = find_case_to_treat(
        request.user, row.episode_id, on=timezone.localdate()
    )
    if not row.episode.is_standing:
        raise Http404("This episode was voided.")
    return row


def ask_why(
    request: AppRequest,
    row: FlowScreen | AdverseEvent | OtherCare,
    void: Callable[[str], None],
    *,
    what: str,
    means: str,
    back: str,
) -> HttpResponse:
    """Ask for a reason, then withdraw the row, once."""
    form = WhyForm(posted(request))

    def act() -> str:
        void(form.cleaned_data["why"])
        messages.success(request, f"Voided: the {what}. It stays on record.")
        return back

    if not row.is_standing:
        messages.info(request, f"Voided already: the {what}.")
        return redirect(back)
    context = {"case": row.episode, "what": what, "means": means}
    return saved(request, act, form) or show_form(
        request, "programs/event_void.html", form, back=back, **context
    )
