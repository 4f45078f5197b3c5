"""Who treats a case: cover, hand over; and the log of reaching the patient."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from clinic import admitting
from clinic.access import Capability, can, requires
from clinic.cases import find_case, find_case_to_treat
from clinic.htmx import AppRequest
from clinic.leaving import who_treats
from clinic.models import Cover, Episode, User
from clinic.posting import posted, posted_version, saved, show_form
from clinic.refusals import refuse_closed, refuse_voided

from ..care_forms import ContactForm, CoverForm, HandOverForm


def is_responsible(user: User, case: Episode) -> bool:
    """Tell whether the case is the person's own, or they lead the site."""
    return case.clinician_id == user.pk or can(user, Capability.TREAT_ANY)


def who_may_cover(user: User, case: Episode) -> QuerySet[User]:
    """Return whom one may put in: colleagues, or without responsibility oneself."""
    colleagues = who_treats(user.site).exclude(pk=case.clinician_id)
    if is_responsible(user, case):
        return colleagues
    return colleagues.filter(pk=user.pk)


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def cover(request: AppRequest, pk: int) -> HttpResponse:
    """Arrange cover: for a colleague's case oneself, for one's own somebody else."""
    case, on = find_case(request.user, pk), timezone.localdate()
    if refusal := refuse_closed(request, case):
        return refusal
    people = who_may_cover(request.user, case)
    form = CoverForm(posted(request), case=case, people=people, on=on)

    def act() -> str:
        made = admitting.cover_case(case, by=request.user, **form.cleaned_data)
        messages.success(request, f"{made.covered_by} covers this case.")
        return case.get_absolute_url()

    return saved(request, act, form) or show_form(
        request,
        "outcomes/cover.html",
        form,
        case=case,
        people=people,
        covers=standing_covers(request.user, case),
    )


def standing_covers(user: User, case: Episode) -> list[tuple[Cover, bool]]:
    """Return cover that has not ended, each with whether one may end it."""
    on = timezone.localdate()
    covers = case.covers.filter(ended_at__isnull=True, until_on__gte=on)
    listed = covers.select_related("covered_by").order_by("from_on")
    return [(cover, may_end(user, cover, case)) for cover in listed]


def may_end(user: User, cover: Cover, case: Episode) -> bool:
    """Tell whether one covers, arranged the cover, or answers for the case."""
    is_part = user.pk in (cover.covered_by_id, cover.arranged_by_id)
    return is_part or is_responsible(user, case)


@requires(Capability.TREAT)
@require_POST
def end_cover(request: AppRequest, pk: int) -> HttpResponse:
    """End a cover before its last day."""
    covers = Cover.objects.for_user(request.user)
    found = get_object_or_404(covers.select_related("covered_by"), pk=pk)
    case = find_case(request.user, found.episode_id)
    if not may_end(request.user, found, case):
        raise PermissionDenied(
            "Cover is ended by those who arranged it, by the person who covers, "
            "by the case's clinician or by the lead."
        )
    if found.ended_at is None:
        admitting.end_cover(found, by=request.user)
        messages.success(request, f"{found.covered_by} no longer covers this case.")
    return redirect(reverse("outcomes:case", args=[case.pk]))


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def hand_over(request: AppRequest, pk: int) -> HttpResponse:
    """Make another clinician responsible for the case."""
    case = find_case(request.user, pk)
    if not is_responsible(request.user, case):
        raise PermissionDenied("A case is handed over by its clinician or the lead.")
    if refusal := refuse_closed(request, case):
        return refusal
    people = who_treats(request.user.site).exclude(pk=case.clinician_id)
    form = HandOverForm(posted(request), people=people)

    def act() -> str:
        admitting.hand_over(
            case,
            by=request.user,
            version=posted_version(request),
            **form.cleaned_data,
        )
        messages.success(request, f"The case now belongs to {form.cleaned_data['to']}.")
        return case.get_absolute_url()

    return saved(request, act, form) or show_form(
        request, "outcomes/hand_over.html", form, case=case, version=case.version
    )


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def log_contact(request: AppRequest, pk: int) -> HttpResponse:
    """Keep one try to reach the patient: when, how, and what came of it."""
    on = timezone.localdate()
    case = find_case_to_treat(request.user, pk, on=on)
    if refusal := refuse_voided(request, case):
        return refusal
    form = ContactForm(posted(request), case=case, on=on)

    def act() -> str:
        admitting.log_contact(case, by=request.user, **form.cleaned_data)
        messages.success(request, "The contact attempt is saved.")
        return case.get_absolute_url()

    log = case.contacts.select_related("by").order_by("-tried_on", "-pk")
    return saved(request, act, form) or show_form(
        request, "outcomes/contact.html", form, case=case, log=log
    )
