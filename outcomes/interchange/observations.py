"""Scores and pain ratings as Observation, in the survey category."""

from ..science.measures import Belongs, Measure, measure
from .coding import (
    SCORE_UNIT,
    SURVEY_SYSTEM,
    UNITS,
    Resource,
    colleague,
    concept,
    identifier,
    knee_site,
    measure_concept,
)
from .content import Answered, Content, Rated


def score_observation(
    form: Answered, *, content: Content, subject: Resource, derived_from: Resource
) -> Resource:
    """Return the score of a questionnaire, derived from its response."""
    about = measure(form.measure)
    return {
        **_observation(about, content, subject),
        "identifier": [identifier("score", form.row, site=content.site)],
        "status": "corrected" if form.is_corrected else "final",
        "code": measure_concept(about, edition=form.edition),
        "effectiveDateTime": form.assessed_on.isoformat(),
        "issued": form.recorded_at.isoformat(timespec="seconds"),
        "performer": [colleague(form.recorded_by, site=content.site)],
        "valueQuantity": quantity(form.score or 0.0),
        "derivedFrom": [derived_from],
    }


def pain_observation(rating: Rated, *, content: Content, subject: Resource) -> Resource:
    """Return one pain rating; who wrote it down is not kept with it."""
    about = measure(rating.measure)
    number = f"{rating.row}-{rating.measure}"
    return {
        **_observation(about, content, subject),
        "identifier": [identifier("rating", number, site=content.site)],
        "status": "final",
        "code": measure_concept(about, edition=about.edition),
        "effectiveDateTime": rating.rated_on.isoformat(),
        "valueQuantity": quantity(rating.value),
    }


def quantity(value: float) -> Resource:
    """Return scale points, whole where they are whole."""
    return {
        "value": int(value) if float(value).is_integer() else round(value, 4),
        "unit": SCORE_UNIT,
        "system": UNITS,
        "code": SCORE_UNIT,
    }


def _observation(about: Measure, content: Content, subject: Resource) -> Resource:
    built: Resource = {
        "resourceType": "Observation",
        "category": [concept(SURVEY_SYSTEM, "survey", display="Survey")],
        "subject": subject,
    }
    if about.belongs is Belongs.KNEE:
        built["bodySite"] = knee_site(content.knee.side)
    return built
