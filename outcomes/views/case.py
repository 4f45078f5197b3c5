"""The case page."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from clinic.access import Capability, requires
from clinic.cases import find_case, treats
from clinic.htmx import AppRequest
from clinic.screening import age_on, asked_always

from ..letters.sheet import letters_of
from ..policies import policy_for
from ..trail import field_history
from ..trajectory import read_page


@requires(Capability.SEE_CASES)
@require_GET
def case(request: AppRequest, pk: int) -> HttpResponse:
    """Show one case: what asks for a review, its course, its visits."""
    on = timezone.localdate()
    episode = find_case(request.user, pk)
    page = read_page(episode, policy=policy_for(episode.site), on=on)
    context = {
        "episode": episode,
        "page": page,
        "row": page.row,
        "on": on,
        "treats": treats(request.user, episode, on=on),
        "letters": letters_of(episode),
        "history": field_history(episode, [line.visit for line in page.visits]),
        "asked_always": asked_always(age=age_on(episode.patient.birth_date, on)),
    }
    return render(request, "outcomes/case.html", context)
