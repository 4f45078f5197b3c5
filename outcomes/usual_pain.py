"""Usual pain of a case by visit, for the suggestions of its programme."""

from clinic.models import Episode

from .models import PainScore


def usual_pain_by_visit(episode: Episode) -> dict[int, float]:
    """Return usual pain of the last week, told at visits that stand; one query."""
    rows = PainScore.objects.standing().filter(
        episode=episode, visit__isnull=False, usual__isnull=False
    )
    return dict(rows.values_list("visit_id", "usual"))
