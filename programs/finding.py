"""The doors to what hangs on a case: fetched scoped, or not found."""

from datetime import date
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse

from clinic.access import Capability, can
from clinic.cases import find_case_to_treat
from clinic.models import User
from clinic.posting import saved_before
from clinic.refusals import refuse_closed

from .models import Phase, Prescription, Programme


def find_programme_to_plan(user: User, pk: int, *, on: date) -> Programme:
    """Return a programme of a case to write in, or raise 404 or 403."""
    found = Programme.objects.for_user(user).filter(episode__isnull=False)
    programme: Programme = get_object_or_404(found, pk=pk)
    programme.episode = find_case_to_treat(user, programme.episode_id, on=on)  # type: ignore[arg-type]
    return programme


def find_programme_to_void(user: User, pk: int, *, on: date) -> Programme:
    """Return a programme of a case to write in, or a template of one's own.

    Raises 404 or 403; the lead withdraws any template of the site.
    """
    templates = Programme.objects.for_user(user).filter(episode__isnull=True)
    template: Programme | None = (
        templates.select_related("made_by").filter(pk=pk).first()
    )
    if template is None:
        return find_programme_to_plan(user, pk, on=on)
    if not may_withdraw(user, template):
        raise PermissionDenied(
            f"This template was made by {template.made_by}. They or the clinic lead "
            "withdraw it."
        )
    return template


def may_withdraw(user: User, template: Programme) -> bool:
    """Tell whether a person made a template, or leads the site."""
    is_own = template.made_by_id == user.pk
    return template.is_template and (is_own or can(user, Capability.TREAT_ANY))


def find_phase_to_plan(user: User, pk: int, *, on: date) -> Phase:
    """Return a phase of a case to write in, or raise 404 or 403."""
    phase: Phase = get_object_or_404(Phase.objects.for_user(user), pk=pk)
    phase.programme = find_programme_to_plan(user, phase.programme_id, on=on)
    return phase


def find_line_to_plan(user: User, pk: int, *, on: date) -> Prescription:
    """Return a standing line of a case to write in, or raise 404 or 403."""
    found = Prescription.objects.for_user(user).standing()
    chosen = found.select_related("clinic_exercise", "phase")
    line: Prescription = get_object_or_404(chosen, pk=pk)
    line.phase = find_phase_to_plan(user, line.phase_id, on=on)
    return line


def plan_page(programme: Programme) -> str:
    """Return the address of the programme page of a case."""
    return reverse("programs:programme", args=[programme.episode_id])


def refuse_over(
    request: HttpRequest, programme: Programme, line: Any = None
) -> HttpResponse | None:
    """Turn back from a programme or a line that is over, or a case not in care.

    The second of two taps comes when the first has ended it; it goes where that led.
    """
    if request.method == "POST" and (earlier := saved_before(request)):
        return redirect(earlier)
    if programme.episode and (refusal := refuse_closed(request, programme.episode)):
        return refusal
    if programme.voided_at or programme.ended_on:
        messages.error(request, "This programme is over: start another, or copy it.")
        return redirect(plan_page(programme))
    if line is not None and line.stops_on:
        messages.error(request, "This line was stopped or changed already.")
        return redirect(plan_page(programme))
    return None
