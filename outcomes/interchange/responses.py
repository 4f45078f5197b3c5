"""Questionnaires as QuestionnaireResponse: item numbers and codes, never a wording."""

from ..science.measures import Measure, measure
from .coding import (
    POINTS_EXTENSION,
    Resource,
    answer_system,
    colleague,
    identifier,
    questionnaire,
)
from .content import Answered


def response(form: Answered, *, subject: Resource, site: int) -> Resource:
    """Return one questionnaire; a corrected one is called amended.

    Who answers for a patient is not recorded, so a proxy's form names no source.
    """
    built = {
        "resourceType": "QuestionnaireResponse",
        "language": form.language,
        "identifier": identifier("questionnaire-response", form.row, site=site),
        "questionnaire": questionnaire(form.measure, form.edition),
        "status": "amended" if form.is_corrected else "completed",
        "subject": subject,
        "authored": form.assessed_on.isoformat(),
        "author": colleague(form.recorded_by, site=site),
        "item": answered_items(form),
    }
    if not form.is_by_proxy:
        built["source"] = subject
    return {name: value for name, value in built.items() if value}


def answered_items(form: Answered) -> list[Resource]:
    """Return each answered item by its number; a missing answer has no item.

    A patient's own activities go by number too: their words are free text.
    """
    about = measure(form.measure)
    return [
        {"linkId": key, "answer": [answer(about, key, code)]}
        for key, code in form.answers.items()
    ]


def answer(about: Measure, key: str, code: str | int) -> Resource:
    """Return a number as it is, and a letter as a code that carries its points."""
    if isinstance(code, int):
        return {"valueInteger": code}
    coding: Resource = {"system": answer_system(about.key), "code": code}
    item = about.item(key)
    options = {option.code: option.points for option in item.options} if item else {}
    if code in options:
        points = {"url": POINTS_EXTENSION, "valueDecimal": options[code]}
        coding["extension"] = [points]
    return {"valueCoding": coding}
