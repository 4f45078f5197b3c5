"""The review policy of the site, and what it costs."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from clinic.access import Capability, requires
from clinic.htmx import AppRequest, page_or_fragment
from clinic.posting import posted, posted_version, saved, show_form
from clinic.submissions import new_form_key

from ..policies import change_policy, stored_policy
from ..policy_cost import policy_cost
from ..policy_form import PolicyForm, ResetForm


@requires(Capability.EDIT_POLICY)
@require_http_methods(["GET", "POST"])
def policy(request: AppRequest) -> HttpResponse:
    """Show every number with its reason; change some, or put all defaults back."""
    if request.method == "POST" and "is_reset" in request.POST:
        return reset(request)
    row = stored_policy(request.user.site)
    form = PolicyForm(posted(request), stored=row.values if row else {})

    def act() -> str:
        return keep(request, form.differing, "The review policy is changed.")

    is_draft = request.method == "POST" and "edit" in request.POST
    done = None if is_draft else saved(request, act, form)
    return done or show_form(
        request,
        "outcomes/policy.html",
        form,
        version=posted_version(request) or (row.version if row else 0),
        row=row,
        is_draft=is_draft,
        reset_form=ResetForm(),
    )


def keep(request: AppRequest, values: dict[str, object], message: str) -> str:
    """Store what differs from the defaults, and say so."""
    site = request.user.site
    version = posted_version(request)
    change_policy(site=site, by=request.user, values=values, version=version)
    messages.success(request, f"{message} It holds for the whole clinic from now on.")
    return reverse("outcomes:policy")


def reset(request: AppRequest) -> HttpResponse:
    """Put every default back, once the person has said that they mean it."""
    form = ResetForm(posted(request))
    row = stored_policy(request.user.site)

    def act() -> str:
        return keep(request, {}, "Every number is back at its default.")

    return saved(request, act, form) or show_form(
        request,
        "outcomes/policy.html",
        PolicyForm(stored=row.values if row else {}),
        form,
        version=row.version if row else 0,
        row=row,
        reset_form=form,
    )


@requires(Capability.EDIT_POLICY)
@require_http_methods(["GET", "POST"])
def cost(request: AppRequest) -> HttpResponse:
    """Show how often the policy, stored or as typed, prompts; changes nothing."""
    row = stored_policy(request.user.site)
    stored = row.values if row else {}
    form = PolicyForm(posted(request), stored=stored)
    if form.is_bound and not form.is_valid():
        context: dict[str, Any] = {"form": form, "cost": None}
        return page_or_fragment(
            request, "outcomes/policy_cost", "policy_cost", context, status=422
        )
    context = {
        "form": form,
        "cost": policy_cost(form.policy or form.stored_policy),
        "version": posted_version(request),
        "form_key": new_form_key(),
    }
    return page_or_fragment(request, "outcomes/policy_cost", "policy_cost", context)
