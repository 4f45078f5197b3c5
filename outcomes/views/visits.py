"""Log a visit, correct it, withdraw it."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import (
    require_GET,
    require_http_methods,
    require_POST,
)

from clinic.access import Capability, requires
from clinic.cases import find_case, find_case_to_treat, treats
from clinic.htmx import AppRequest
from clinic.models import Episode, Visit
from clinic.posting import posted_version
from clinic.quiet_sessions import keep_session_alive
from clinic.submissions import KeyReused, form_key_of, new_form_key, save_once
from clinic.templatetags.clinic_format import day
from clinic.versions import StaleEdit
from clinic.views.errors import form_key_reused

from .. import recording, voiding
from ..answers_shown import shown_answers
from ..models import Activity, Assessment
from ..questionnaire_form import LANGUAGES, QuestionnaireForm, Setting
from ..science.measures import QUESTIONNAIRES, measure
from ..visit_differences import last_change
from ..visit_sheet import VisitSheet
from .visit_saving import ask_or_save, show_voided


class VoidForm(forms.Form):
    """Why something is withdrawn."""

    why = forms.CharField(
        max_length=300,
        label="Why",
        help_text="It leaves every page and stays on record, with your name.",
        error_messages={"required": "Say why, in a few words."},
    )


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def log_visit(request: AppRequest, pk: int) -> HttpResponse:
    """Log a visit with all that was told and measured at it, in one save."""
    episode = find_case_in_use(request, pk)

    def keep(sheet: VisitSheet) -> Visit:
        return recording.record_visit(
            episode=episode, by=request.user, entry=sheet.to_entry()
        )

    return ask_or_save(request, episode, keep)


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def change_visit(request: AppRequest, pk: int) -> HttpResponse:
    """Correct a visit; a change by somebody else meanwhile is shown, not lost."""
    visit = find_visit(request, pk)
    if not visit.is_standing:
        return show_voided(request, visit)

    def keep(sheet: VisitSheet) -> Visit:
        return recording.change_visit(
            visit,
            by=request.user,
            entry=sheet.to_entry(),
            version=posted_version(request),
        )

    return ask_or_save(request, visit.episode, keep, visit=visit)


def find_case_in_use(request: AppRequest, pk: int) -> Episode:
    """Return a case to write in that was not voided."""
    episode = find_case_to_treat(request.user, pk, on=timezone.localdate())
    if not episode.is_standing:
        raise Http404("This episode was voided.")
    return episode


def find_visit(request: AppRequest, pk: int) -> Visit:
    """Return a visit to write in, voided or not."""
    visits = Visit.objects.for_user(request.user).select_related(
        "clinician", "voided_by"
    )
    visit: Visit = get_object_or_404(visits, pk=pk)
    visit.episode = find_case_in_use(request, visit.episode_id)
    return visit


@requires(Capability.TREAT)
@require_POST
def live_score(request: AppRequest, pk: int) -> HttpResponse:
    """Score what is answered so far; nothing is saved."""
    keep_session_alive(request)
    episode = find_case(request.user, pk)
    key = request.POST.get("measure", "")
    if key not in QUESTIONNAIRES:
        raise Http404("There is no such measure.")
    about = measure(key)
    named: tuple[Activity, ...] = ()
    if about.has_own_items:
        named = tuple(Activity.objects.filter(patient=episode.patient_id))
    form = QuestionnaireForm(
        request.POST, setting=Setting(about=about, activities=named)
    )
    context = {"so_far": form.score_so_far()}
    return render(request, "outcomes/live_score.html", context)


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def void_visit(request: AppRequest, pk: int) -> HttpResponse:
    """Withdraw a visit with all that was told and measured at it."""
    visit = find_visit(request, pk)
    if not visit.is_standing:
        return show_voided(request, visit)

    def void(why: str) -> None:
        voiding.void_visit(
            visit, by=request.user, why=why, version=posted_version(request)
        )

    try:
        return ask_why(
            request, visit.episode, f"visit of {day(visit.visited_on)}", void, visit
        )
    except StaleEdit:
        change = last_change(visit)
        messages.warning(
            request,
            f"{change.by_name} changed this visit meanwhile. Look at it again before "
            "you void it.",
        )
        return redirect("outcomes:change_visit", pk=visit.pk)


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def void_assessment(request: AppRequest, pk: int) -> HttpResponse:
    """Withdraw one questionnaire."""
    found = find_assessment(request, pk)
    episode = find_case_in_use(request, found.episode_id)
    if not found.is_standing:
        return redirect("outcomes:assessment", pk=found.pk)

    def void(why: str) -> None:
        voiding.void_assessment(found, by=request.user, why=why)

    name = f"{measure(found.measure).short_name} of {day(found.assessed_on)}"
    return ask_why(request, episode, name, void)


def ask_why(
    request: AppRequest,
    episode: Episode,
    name: str,
    void: Callable[[str], None],
    visit: Visit | None = None,
) -> HttpResponse:
    """Ask for a reason, then withdraw what is named, once."""
    form = VoidForm(request.POST or None)
    if request.method == "GET" or not form.is_valid():
        context = {"form": form, "episode": episode, "name": name, "visit": visit}
        return show_void(request, context)

    def act() -> str:
        void(form.cleaned_data["why"])
        messages.success(request, f"Voided: {name}. It stays on record.")
        return episode.get_absolute_url()

    try:
        return redirect(save_once(request, act))
    except KeyReused:
        return form_key_reused(request)


def show_void(request: AppRequest, context: dict[str, Any]) -> HttpResponse:
    """Show the question why, with what is wrong with the answer."""
    is_new = request.method == "GET"
    context["form_key"] = new_form_key() if is_new else str(form_key_of(request))
    status = 200 if is_new else 422
    return render(request, "outcomes/void.html", context, status=status)


def find_assessment(request: AppRequest, pk: int) -> Assessment:
    """Return a questionnaire of the person's site, voided or not."""
    rows = Assessment.objects.for_user(request.user).select_related(
        "episode__patient", "visit", "wording", "recorded_by", "voided_by"
    )
    found: Assessment = get_object_or_404(rows, pk=pk)
    return found


@requires(Capability.SEE_CASES)
@require_GET
def assessment(request: AppRequest, pk: int) -> HttpResponse:
    """Show one questionnaire: every answer, the score, how it was recorded."""
    found = find_assessment(request, pk)
    episode = find_case(request.user, found.episode_id)
    context = {
        "assessment": found,
        "episode": episode,
        "about": measure(found.measure),
        "answers": shown_answers(found),
        "language": dict(LANGUAGES).get(found.language, found.language),
        "later": Assessment.objects.filter(replaces=found).first(),
        "may_change": treats(request.user, episode, on=timezone.localdate()),
    }
    return render(request, "outcomes/assessment.html", context)
