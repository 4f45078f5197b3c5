"""A case as the plain values that a bundle is built from."""

from datetime import datetime

from clinic.models import Episode

from ..models import PAIN_KINDS, Assessment, PainScore
from .content import Answered, Content, Knee, Person, Rated


def read_content(case: Episode, *, at: datetime) -> Content:
    """Return a case with what stands in it, in two queries.

    The case comes with its patient and site; what was voided is not sent.
    """
    forms = Assessment.objects.standing().of_episode(case).in_order()
    pains = PainScore.objects.standing().filter(episode=case)
    return Content(
        site=case.site_id,
        site_name=case.site.name,
        is_demo=case.site.is_demo,
        made_at=at,
        person=_person(case),
        knee=_knee(case),
        answered=tuple(_answered(form) for form in forms),
        rated=tuple(
            rating
            for pain in pains.order_by("rated_on", "pk")
            for rating in _rated(pain)
        ),
    )


def _person(case: Episode) -> Person:
    patient = case.patient
    return Person(
        row=patient.pk,
        record_number=patient.record_number,
        family_name=patient.family_name,
        given_name=patient.given_name,
        birth_date=patient.birth_date,
        sex=patient.sex,
    )


def _knee(case: Episode) -> Knee:
    return Knee(
        row=case.pk,
        side=case.side,
        onset_on=case.symptom_onset_on,
        opened_on=case.opened_on,
        discharged_on=case.discharged_on,
        clinician=case.clinician_id,
    )


def _answered(form: Assessment) -> Answered:
    given = {key: code for key, code in form.answers.items() if code is not None}
    return Answered(
        row=form.pk,
        measure=form.measure,
        edition=form.edition,
        assessed_on=form.assessed_on,
        recorded_at=form.recorded_at,
        recorded_by=form.recorded_by_id,
        answers=given,
        score=form.score,
        language=form.language,
        is_corrected=form.replaces_id is not None,
        is_by_proxy=form.mode == Assessment.Mode.PROXY,
    )


def _rated(pain: PainScore) -> list[Rated]:
    return [
        Rated(
            row=pain.pk,
            measure=f"pain_{kind}",
            rated_on=pain.rated_on,
            value=value,
        )
        for kind in PAIN_KINDS
        if (value := getattr(pain, kind)) is not None
    ]
