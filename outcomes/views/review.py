"""Decide on a flagged case."""

from datetime import date
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from clinic.access import Capability, requires
from clinic.cases import find_case_to_treat
from clinic.htmx import AppRequest
from clinic.models import Episode
from clinic.posting import posted, saved, show_form
from clinic.refusals import refuse_closed

from ..caseload import CaseRow, default_look_again, read_case
from ..models import CaseReview
from ..open_flags import OpenFlag, open_flags
from ..policies import policy_for
from ..resting import what_rests
from ..reviewing import review_case
from ..tried import is_stalled, read_tried


class ReviewForm(forms.ModelForm):
    """What was decided, why, and when to look again."""

    class Meta:
        model = CaseReview
        fields = ("decision", "why", "look_again_on")
        labels = {
            "decision": "What is decided",
            "why": "Why",
            "look_again_on": "Look again on",
        }
        help_texts = {
            "why": "Think of adherence, dose, irritability, load outside the clinic, "
            "fear of movement, other care such as injection or pain medicine, and "
            "the diagnosis.",
            "look_again_on": "What was found rests until then and comes back by "
            "itself. A worsening never rests, and with a decision to discharge "
            "nothing rests until the case is discharged.",
        }
        widgets = {
            "decision": forms.RadioSelect,
            "why": forms.Textarea(attrs={"rows": 4}),
            "look_again_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        }

    def __init__(self, *args: Any, on: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.on = on
        self.fields["decision"].choices = CaseReview.Decision.choices  # type: ignore[attr-defined]

    def clean_look_again_on(self) -> date:
        """Require a day after today and within half a year."""
        chosen: date = self.cleaned_data["look_again_on"]
        if chosen <= self.on:
            raise ValidationError("Choose a day after today.")
        if (chosen - self.on).days > 183:
            raise ValidationError(
                "Choose a day within half a year, so that the case is not lost."
            )
        return chosen


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def review(request: AppRequest, pk: int) -> HttpResponse:
    """Ask for a decision on what was found, and let the flag rest until a day."""
    on = timezone.localdate()
    episode = find_case_to_treat(request.user, pk, on=on)
    if refusal := refuse_closed(request, episode):
        return refusal
    if flags := open_flags(episode):
        return decide_first(request, episode, flags)
    row = read_case(episode, policy=policy_for(episode.site), on=on)
    form = ReviewForm(
        posted(request), on=on, initial={"look_again_on": default_look_again(on)}
    )
    return saved(request, lambda: keep(request, row, form, on), form) or show_form(
        request,
        "outcomes/review.html",
        form,
        episode=episode,
        row=row,
        tried=read_tried(episode, on=on) if is_stalled(row) else None,
        on=on,
    )


def decide_first(
    request: AppRequest, episode: Episode, flags: tuple[OpenFlag, ...]
) -> HttpResponse:
    """Ask for the decision on a red-flag answer; a review is not offered until then."""
    context = {"episode": episode, "flags": flags, "why": request.POST.get("why", "")}
    status = 200 if request.method == "GET" else 409
    return render(request, "outcomes/review_later.html", context, status=status)


def keep(request: AppRequest, row: CaseRow, form: ReviewForm, on: date) -> str:
    """Keep the review; a decision to discharge leads on to the discharge page."""
    seen = (*row.findings, *row.resting)
    made = review_case(
        row.episode,
        by=request.user,
        on=on,
        findings=[finding.rule.key for finding in seen],
        **form.cleaned_data,
    )
    messages.success(request, f"Decision kept. {what_rests(made, seen)}")
    if made.decision == CaseReview.Decision.DISCHARGE:
        return reverse("outcomes:discharge", args=[row.episode.pk])
    return row.episode.get_absolute_url()
