"""The red-flag screen of a case, and the decision on a positive answer."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from clinic import screening
from clinic.access import Capability, requires
from clinic.cases import find_case_to_treat
from clinic.htmx import AppRequest
from clinic.models import Episode, Screen, User
from clinic.posting import posted, saved, show_form
from clinic.refusals import refuse_closed

from ..screen_forms import DecisionForm, ScreenForm


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def screen(request: AppRequest, pk: int) -> HttpResponse:
    """Ask the full screen again, at any time."""
    on = timezone.localdate()
    case = find_case_to_treat(request.user, pk, on=on)
    if refusal := refuse_closed(request, case):
        return refusal
    age = screening.age_on(case.patient.birth_date, on)
    form = ScreenForm(posted(request), asked=Screen.Form.FULL, age=age)

    def act() -> str:
        messages.success(request, "The screen is on record.")
        return keep_full_screen(request.user, case, form)

    return saved(request, act, form) or show_form(
        request,
        "outcomes/screen.html",
        form,
        case=case,
        screen=form,
        x_ray=screening.x_ray_rule(),
    )


def keep_full_screen(by: User, case: Episode, form: ScreenForm) -> str:
    """Keep a full screen; return the page to go on with."""
    kept = screening.answer_screen(
        episode=case,
        by=by,
        form=Screen.Form.FULL,
        answers=form.answers(),
        on=timezone.localdate(),
        decision=form.cleaned_data["decision"],
    )
    if kept.is_positive and not kept.decision:
        return reverse("outcomes:decide", args=[kept.pk])
    return case.get_absolute_url()


# Pages that ask for the decision first; each gets its person back afterwards.
COMES_BACK_TO = {
    "discharge": "outcomes:discharge",
    "review": "outcomes:review",
    "visit": "outcomes:log_visit",
}


def back_from_decision(request: AppRequest, case: Episode) -> str:
    """Return the page that asked for the decision; else the case."""
    asked_from = COMES_BACK_TO.get(request.GET.get("then", ""))
    if asked_from is None or not case.is_open:
        return case.get_absolute_url()
    return reverse(asked_from, args=[case.pk])


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def decide(request: AppRequest, pk: int) -> HttpResponse:
    """Ask for the clinician's decision on a positive answer, in words."""
    screens = Screen.objects.for_user(request.user).standing()
    asked = get_object_or_404(screens.filter(is_positive=True), pk=pk)
    on = timezone.localdate()
    case = find_case_to_treat(request.user, asked.episode_id, on=on)
    form, back = DecisionForm(posted(request)), back_from_decision(request, case)

    def act() -> str:
        screening.decide(asked, by=request.user, decision=form.cleaned_data["decision"])
        messages.success(request, "The decision is on record.")
        return back

    if asked.decided_at and request.method == "POST":
        messages.info(request, "This answer was decided already; see the case.")
        return redirect(case)
    return saved(request, act, form) or show_form(
        request,
        "outcomes/decide.html",
        form,
        case=case,
        back=back,
        asked=asked,
        positives=screening.positives(asked.answers),
        x_ray=screening.x_ray_rule(),
    )
