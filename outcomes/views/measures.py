"""What is measured here, where its thresholds come from, which wording is used."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from clinic.access import Capability, requires
from clinic.htmx import AppRequest

from ..measure_cards import build_measure_cards
from ..policies import policy_for
from ..wording import wordings_in_use


@requires(Capability.SEE_CASES)
@require_GET
def measures(request: AppRequest) -> HttpResponse:
    """Show each instrument with direction, range, thresholds, sources and wording."""
    site = request.user.site
    cards = build_measure_cards(policy=policy_for(site), wordings=wordings_in_use(site))
    return render(request, "outcomes/measures.html", {"cards": cards})
