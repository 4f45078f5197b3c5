"""What a site asks at the sign-in: which roles need the second step."""

from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from .. import audit
from ..access import Capability, requires
from ..forms import SignInPolicyForm
from ..htmx import AppRequest
from ..models import AuditEvent, SignInPolicy
from ..posting import posted, posted_version, saved, show_form
from ..second_step import policy_of
from ..versions import site_row


@requires(Capability.MANAGE_PEOPLE)
@require_http_methods(["GET", "POST"])
def sign_in_policy(request: AppRequest) -> HttpResponse:
    """Set which roles need the second step, and how long they have."""
    stored = policy_of(request.user)
    form = SignInPolicyForm(posted(request), initial=stored.values)

    def act() -> str:
        keep_policy(request, form.cleaned_data)
        messages.success(request, "Kept. It holds from each person's next sign-in.")
        return reverse("sign_in_policy")

    return saved(request, act, form) or show_form(
        request, "clinic/sign_in_policy.html", form, version=stored.version
    )


@transaction.atomic
def keep_policy(request: AppRequest, chosen: dict[str, Any]) -> None:
    """Store the policy with what it was before; raises StaleEdit."""
    row = site_row(SignInPolicy, request.user.site, posted_version(request))
    before = row.values
    row.second_step_roles = sorted(chosen["roles"])
    row.grace_days = chosen["grace_days"]
    row.save()
    AuditEvent.objects.record(
        audit.SIGN_IN_POLICY_CHANGED, by=request.user, before=before, after=row.values
    )
