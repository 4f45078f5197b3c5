"""People and episodes: admit, open, change, void."""

from copy import copy

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from clinic import admitting, screening
from clinic.access import Capability, can, requires
from clinic.cases import find_case_to_treat, find_patient, treats
from clinic.htmx import AppRequest
from clinic.models import Episode, Patient, Screen
from clinic.posting import posted, posted_version, saved, show_form
from clinic.refusals import refuse_voided

from .. import voiding
from ..care_forms import WhyForm
from ..case_forms import EditEpisodeForm, OpenEpisodeForm
from ..entries import has_entries
from ..patient_form import PatientForm
from ..policies import policy_for
from ..screen_forms import ScreenForm
from .screens import keep_full_screen


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def admit(request: AppRequest) -> HttpResponse:
    """Add a person, then go straight on to the first episode."""
    form = PatientForm(posted(request), by=request.user, on=timezone.localdate())

    def act() -> str:
        made = admitting.admit_patient(by=request.user, **form.details)
        messages.success(request, f"{made} is added. Now open the episode of care.")
        return reverse("outcomes:open_case", args=[made.pk])

    waiting = Patient.objects.for_user(request.user).filter(episodes__isnull=True)
    return saved(request, act, form) or show_form(
        request, "outcomes/admit.html", form, waiting=waiting.order_by("family_name")
    )


@requires(Capability.SEE_CASES)
@require_GET
def patient(request: AppRequest, pk: int) -> HttpResponse:
    """Show a person with the episodes of both knees."""
    person = find_patient(request.user, pk)
    episodes = (
        person.episodes.standing()
        .select_related("clinician")
        .order_by("side", "-opened_on")
    )
    context = {
        "patient": person,
        "episodes": episodes,
        "on": timezone.localdate(),
        "may_treat": can(request.user, Capability.TREAT),
        "may_change": may_change(request, person),
        "may_read_trail": can(request.user, Capability.READ_TRAIL),
        "may_answer": can(request.user, Capability.ANSWER_ACCESS),
    }
    return render(request, "outcomes/patient.html", context)


def may_change(request: AppRequest, person: Patient) -> bool:
    """Tell whether one treats a case of the person, or nobody does yet."""
    if can(request.user, Capability.TREAT_ANY):
        return True
    on, cases = timezone.localdate(), list(person.episodes.standing())
    if not cases:
        return can(request.user, Capability.TREAT)
    return any(treats(request.user, case, on=on) for case in cases)


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def change_patient(request: AppRequest, pk: int) -> HttpResponse:
    """Change what is known of a person."""
    person = find_patient(request.user, pk)
    if not may_change(request, person):
        raise PermissionDenied("Only those who treat this person change the details.")
    on = timezone.localdate()
    form = PatientForm(posted(request), instance=person, by=request.user, on=on)

    def act() -> str:
        if form.changes:
            admitting.change_patient(person, by=request.user, changes=form.changes)
            messages.success(request, "The details are changed.")
        return person.get_absolute_url()

    return saved(request, act, form) or show_form(
        request, "outcomes/patient_details.html", form, patient=person
    )


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def open_case(request: AppRequest, pk: int) -> HttpResponse:
    """Open care for one knee, with the full red-flag screen, in one save."""
    person, on = find_patient(request.user, pk), timezone.localdate()
    policy = policy_for(request.user.site)
    form = OpenEpisodeForm(
        posted(request), patient=person, by=request.user, policy=policy, on=on
    )
    screen = ScreenForm(posted(request), asked=Screen.Form.FULL, age=form.age)

    def act() -> str:
        case = admitting.open_episode(patient=person, by=request.user, **form.details)
        messages.success(request, f"The episode of the {case.side} knee is open.")
        return keep_full_screen(request.user, case, screen)

    return saved(request, act, form, screen) or show_form(
        request,
        "outcomes/open_case.html",
        form,
        screen,
        patient=person,
        screen=screen,
        x_ray=screening.x_ray_rule(),
    )


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def change_case(request: AppRequest, pk: int) -> HttpResponse:
    """Change details of an episode; nobody's change is overwritten unseen."""
    on = timezone.localdate()
    case = find_case_to_treat(request.user, pk, on=on)
    if refusal := refuse_voided(request, case):
        return refusal
    form, version = details_form(request, case), posted_version(request)

    def act() -> str:
        admitting.change_episode(
            case, by=request.user, version=version, changes=form.details
        )
        messages.success(request, "The details of the case are changed.")
        return case.get_absolute_url()

    return saved(request, act, form) or show_form(
        request,
        "outcomes/case_details.html",
        form,
        case=case,
        version=version or case.version,
        differences=form.differences(case),
    )


def details_form(request: AppRequest, case: Episode) -> EditEpisodeForm:
    """Return the form for the details of a case."""
    return EditEpisodeForm(
        posted(request),
        # A copy, because cleaning writes what was typed into it.
        instance=copy(case),
        patient=case.patient,
        policy=policy_for(case.site),
        on=timezone.localdate(),
        has_entries=has_entries(case),
    )


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def void_case(request: AppRequest, pk: int) -> HttpResponse:
    """Withdraw an episode that was opened by mistake and holds nothing."""
    case = find_case_to_treat(request.user, pk, on=timezone.localdate())
    if refusal := refuse_voided(request, case):
        return refusal
    form, version = WhyForm(posted(request)), posted_version(request)

    def act() -> str:
        if has_entries(case):
            messages.error(request, "The case holds visits, measures or letters.")
            return case.get_absolute_url()
        why = form.cleaned_data["why"]
        voiding.void_episode(case, by=request.user, why=why, version=version)
        messages.success(request, "The episode is voided; it stays on record.")
        return case.patient.get_absolute_url()

    return saved(request, act, form) or show_form(
        request,
        "outcomes/void_case.html",
        form,
        case=case,
        holds=has_entries(case),
        version=case.version,
    )
