"""The exercise library: shelf by shelf, one entry, and the clinic's own entries."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import (
    require_GET,
    require_http_methods,
    require_POST,
)

from clinic.access import Capability, can, requires
from clinic.htmx import AppRequest
from clinic.posting import posted, saved, show_form

from .. import library
from ..dose_words import span_words
from ..library_entries import Exercise
from ..library_shelves import drawing_of, shelves
from ..lines import chosen_entry, own_key
from ..models import ClinicExercise
from ..own_exercise_form import OwnExerciseForm
from ..own_exercises import add_exercise, may_retire, own_exercises, retire_exercise


@requires(Capability.SEE_CASES)
@require_GET
def exercises(request: AppRequest) -> HttpResponse:
    """Show the library by what it is for, each ladder from irritable knee to sport."""
    retired = ClinicExercise.objects.for_user(request.user).filter(
        retired_at__isnull=False
    )
    context = {
        "shelves": shelves(own_exercises(request.user)),
        "retired": [(own_key(one), one) for one in retired.order_by("name")],
        "may_add": can(request.user, Capability.TREAT),
    }
    return render(request, "programs/exercises.html", context)


@requires(Capability.SEE_CASES)
@require_GET
def exercise(request: AppRequest, key: str) -> HttpResponse:
    """Show one entry with everything that is known of it."""
    # A retired entry stays readable where it was used.
    own = ClinicExercise.objects.for_user(request.user).select_related("added_by")
    entry = chosen_entry(key, own) if key.startswith("own-") else in_library(key)
    if entry is None:
        raise Http404("No such exercise.")
    if isinstance(entry, ClinicExercise):
        context = {"own": entry, "may_retire": may_retire(request.user, entry)}
        return render(request, "programs/exercise_own.html", context)
    return render(request, "programs/exercise.html", about(entry))


def in_library(key: str) -> Exercise | None:
    """Return the library's entry of a key."""
    return library.library().get(key)


def about(entry: Exercise) -> dict[str, Any]:
    """Return what the page of an entry shows."""
    return {
        "entry": entry,
        "group": library.groups()[entry.group],
        "easier": library.easier(entry.key),
        "harder": library.harder(entry.key),
        "leads_to": library.leads_to(entry.key),
        "comes_from": library.comes_from(entry.key),
        "drawing": drawing_of(entry.key),
        "dose_text": span_words(entry.dose) if entry.dose else "",
    }


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def add_own(request: AppRequest) -> HttpResponse:
    """Add an entry to the library of the clinic."""
    form = OwnExerciseForm(posted(request), by=request.user)

    def act() -> str:
        made = add_exercise(by=request.user, **form.details)
        messages.success(request, f"{made.name} is in the clinic's library.")
        return reverse("programs:exercise", args=[own_key(made)])

    return saved(request, act, form) or show_form(
        request, "programs/add_own.html", form
    )


@requires(Capability.TREAT)
@require_POST
def retire_own(request: AppRequest, pk: int) -> HttpResponse:
    """Take an entry out of the choice; where it is used it stays readable."""
    entry = get_object_or_404(ClinicExercise.objects.for_user(request.user), pk=pk)
    if not may_retire(request.user, entry):
        raise PermissionDenied("An entry is retired by who added it, or by the lead.")
    if entry.retired_at is None:
        retire_exercise(entry, by=request.user)
        messages.success(request, f"{entry.name} can no longer be chosen.")
    return redirect("programs:exercises")
