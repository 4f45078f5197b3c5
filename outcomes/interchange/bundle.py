"""The bundle of one case: a collection, whose parts refer to each other inside it.

It is a "collection" because it is handed over to be read: a "document" would need an
author who signs it, and a "transaction" would tell a server what to store.
"""

from collections.abc import Callable
from uuid import uuid4

from ..science.measures import Measure, measure
from .coding import (
    CLINICAL_SYSTEM,
    CONDITION_CATEGORY,
    GENDERS,
    MEASURE_SYSTEM,
    TEST_DATA,
    Resource,
    colleague,
    concept,
    identifier,
    knee_concept,
    knee_site,
)
from .content import Content
from .observations import pain_observation, score_observation
from .responses import response


def build_bundle(content: Content, *, name: Callable[[], object] = uuid4) -> Resource:
    """Return the bundle; `name` gives each part a UUID, drawn anew for each bundle."""
    parts = _Parts(name)
    subject = parts.add(patient(content))
    knee = parts.add(condition(content, subject=subject))
    parts.add(episode_of_care(content, subject=subject, knee=knee))
    for form in content.answered:
        told = parts.add(response(form, subject=subject, site=content.site))
        if form.score is not None:
            parts.add(
                score_observation(
                    form, content=content, subject=subject, derived_from=told
                )
            )
    for rating in content.rated:
        parts.add(pain_observation(rating, content=content, subject=subject))
    if content.answered or content.rated:
        parts.add(code_system(content))
    mark = {"meta": {"security": [TEST_DATA]}} if content.is_demo else {}
    return {
        "resourceType": "Bundle",
        **mark,
        "type": "collection",
        "timestamp": content.made_at.isoformat(timespec="seconds"),
        "entry": parts.entries,
    }


class _Parts:
    """The entries so far; adding one returns the reference to it."""

    def __init__(self, name: Callable[[], object]) -> None:
        self.entries: list[Resource] = []
        self._name = name

    def add(self, resource: Resource) -> Resource:
        """Keep a resource under a name of its own, and return a reference to it."""
        url = f"urn:uuid:{self._name()}"
        self.entries.append({"fullUrl": url, "resource": resource})
        return {"reference": url, "type": resource["resourceType"]}


def patient(content: Content) -> Resource:
    """Return what the receiver needs to find the right record, and no more."""
    person, site = content.person, content.site
    number = identifier("record-number", person.record_number, site=site)
    return {
        "resourceType": "Patient",
        "identifier": [number | {"assigner": {"display": content.site_name}}],
        "name": [{"family": person.family_name, "given": [person.given_name]}],
        "gender": GENDERS[person.sex],
        "birthDate": person.birth_date.isoformat(),
    }


def condition(content: Content, *, subject: Resource) -> Resource:
    """Return what the knee is treated as.

    Whether it has resolved is not recorded, so a discharged case states no status.
    """
    knee = content.knee
    built = {
        "resourceType": "Condition",
        "identifier": [identifier("condition", knee.row, site=content.site)],
        "category": [concept(CONDITION_CATEGORY, "encounter-diagnosis")],
        "code": knee_concept(knee.side),
        "bodySite": [knee_site(knee.side)],
        "subject": subject,
        "onsetDateTime": knee.onset_on.isoformat(),
        "recordedDate": knee.opened_on.isoformat(),
    }
    if knee.discharged_on is None:
        built["clinicalStatus"] = concept(CLINICAL_SYSTEM, "active")
    return built


def episode_of_care(content: Content, *, subject: Resource, knee: Resource) -> Resource:
    """Return the stretch of care, with its clinician by local number only."""
    case = content.knee
    period = {"start": case.opened_on.isoformat()}
    if case.discharged_on:
        period["end"] = case.discharged_on.isoformat()
    return {
        "resourceType": "EpisodeOfCare",
        "identifier": [identifier("episode", case.row, site=content.site)],
        "status": "finished" if case.discharged_on else "active",
        "patient": subject,
        "diagnosis": [{"condition": knee}],
        "managingOrganization": {"display": content.site_name},
        "careManager": colleague(case.clinician, site=content.site),
        "period": period,
    }


def code_system(content: Content) -> Resource:
    """Return the local codes that the bundle uses, since they are published nowhere."""
    used = {form.measure for form in content.answered}
    used |= {rating.measure for rating in content.rated}
    return {
        "resourceType": "CodeSystem",
        "url": MEASURE_SYSTEM,
        "status": "active",
        "content": "fragment",
        "concept": [_described(measure(key)) for key in sorted(used)],
    }


def _described(about: Measure) -> Resource:
    better = f", {about.better.sentence}" if about.better else ", itself a change"
    return {
        "code": about.key,
        "display": about.name,
        "definition": f"{about.low:g} to {about.high:g}{better}.",
    }
