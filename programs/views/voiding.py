"""Withdrawing a programme that has ended, or a template."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from clinic.access import Capability, requires
from clinic.htmx import AppRequest
from clinic.models import Episode
from clinic.posting import posted, posted_version, saved_before, show_form
from clinic.refusals import refuse_voided

from .. import planning
from ..finding import find_programme_to_void, plan_page
from ..keeping import kept
from ..models import Programme, SessionLog
from ..programme_forms import WithdrawForm


@requires(Capability.TREAT)
@require_http_methods(["GET", "POST"])
def void_programme(request: AppRequest, pk: int) -> HttpResponse:
    """Withdraw a programme or a template that was made by mistake, with its lines."""
    found = find_programme_to_void(request.user, pk, on=timezone.localdate())
    back = page_of(request, found)
    if refusal := refuse_withdrawn(request, found, back):
        return refusal
    form = WithdrawForm(posted(request))

    def act() -> str:
        version, why = posted_version(request), form.cleaned_data["why"]
        planning.void_programme(found, by=request.user, why=why, version=version)
        messages.success(request, f"“{found.title}” is withdrawn; it stays on record.")
        return back

    return kept(request, act, form) or show_form(
        request,
        "programs/programme_void.html",
        form,
        case=found.episode,
        programme=found,
        back=back,
        came_from=came_from(request),
        lines=planning.lines_of(found).count(),
        logs=SessionLog.objects.filter(prescription__phase__programme=found).count(),
        version=found.version,
    )


def page_of(request: AppRequest, found: Programme) -> str:
    """Return where it is listed: its case, or for a template the case one came from."""
    if found.episode:
        return plan_page(found)
    seen = Episode.objects.for_user(request.user)
    case = seen.filter(pk=came_from(request)).first()
    if case is None:
        return reverse("programs:exercises")
    return reverse("programs:new_programme", args=[case.pk])


def came_from(request: AppRequest) -> int:
    """Return the number of the case whose page listed a template; 0 for none."""
    chosen = request.POST.get("case") or request.GET.get("case") or ""
    return int(chosen) if chosen.isascii() and chosen.isdigit() else 0


def refuse_withdrawn(
    request: AppRequest, found: Programme, back: str
) -> HttpResponse | None:
    """Turn back from what is withdrawn already, and from a case that was voided."""
    if request.method == "POST" and (earlier := saved_before(request)):
        return redirect(earlier)
    if found.episode and (refusal := refuse_voided(request, found.episode)):
        return refusal
    if not found.voided_at:
        return None
    messages.error(request, "This is withdrawn already.")
    return redirect(back)
