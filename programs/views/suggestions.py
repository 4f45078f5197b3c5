"""The answer to a suggestion; what is suggested is worked out anew, never posted."""

from django import forms
from django.contrib import messages
from django.db import IntegrityError
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from clinic.access import Capability, requires
from clinic.htmx import AppRequest
from clinic.models import Episode
from clinic.submissions import KeyReused, save_once
from clinic.views.errors import form_key_reused

from ..answering import ASKED_AGAIN, accept_step, decline_step
from ..finding import find_line_to_plan
from ..next_steps import find_step
from ..prescribing import PlanRefused
from ..suggesting import NextStep

ACCEPT, DECLINE = "accept", "decline"


class AnswerForm(forms.Form):
    """The answer, the suggestion that it is for, and the page that it came from."""

    answer = forms.ChoiceField(choices=[(ACCEPT, "Accept"), (DECLINE, "Decline")])
    shown = forms.CharField(max_length=16)
    words = forms.CharField(max_length=300, required=False)
    back = forms.ChoiceField(
        choices=[("case", "case"), ("programme", "programme")], required=False
    )


@requires(Capability.TREAT)
@require_POST
def suggestion(request: AppRequest, pk: int) -> HttpResponse:
    """Keep the answer; accepting makes the changed line."""
    on = timezone.localdate()
    line = find_line_to_plan(request.user, pk, on=on)
    case = line.phase.programme.episode
    assert case is not None  # noqa: S101 (a line to plan is one of a case)
    form = AnswerForm(request.POST)
    back = back_to(case, request.POST.get("back", ""))
    if not form.is_valid():
        return not_kept(request, form, back)

    def act() -> str:
        step = find_step(case, line, on=on)
        if step is None or step.token != form.cleaned_data["shown"]:
            raise PlanRefused(ASKED_AGAIN)
        messages.success(request, answer(request, step, form))
        return back

    try:
        return redirect(save_once(request, act))
    except PlanRefused as refused:
        messages.error(request, refused.reason)
    except IntegrityError:
        messages.error(request, ASKED_AGAIN)
    except KeyReused:
        return form_key_reused(request)
    return redirect(back)


def not_kept(request: AppRequest, form: AnswerForm, back: str) -> HttpResponse:
    """Turn back from an answer that says nothing, or too much."""
    reasons = [str(text) for errors in form.errors.values() for text in errors]
    messages.error(request, f"Nothing was kept. {' '.join(reasons)}")
    return redirect(back)


def answer(request: AppRequest, step: NextStep, form: AnswerForm) -> str:
    """Keep the answer and return what to say about it."""
    given = form.cleaned_data
    if given["answer"] == DECLINE:
        decline_step(step, by=request.user, on=step.on, words=given["words"])
        return f"Kept: declined for {step.line.name}. The line stays as it is."
    accept_step(step, by=request.user, on=step.on)
    change = step.suggestion.change
    if change is None:
        return f"Kept: {step.line.name} stays at its dose."
    return f"{step.line.name}: {change.sentence} It holds from today."


def back_to(case: Episode, page: str) -> str:
    """Return where the answer came from."""
    if page == "programme":
        return reverse("programs:programme", args=[case.pk])
    return f"{case.get_absolute_url()}#next-step"
