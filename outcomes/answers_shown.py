"""The answers of one stored questionnaire, in words."""

from dataclasses import dataclass

from .models import Activity, Assessment
from .science.measures import measure
from .wording import texts_for


@dataclass(frozen=True, slots=True)
class AnswerShown:
    """One question with its answer; no answer is empty."""

    number: str
    prompt: str
    code: str
    label: str


def shown_answers(assessment: Assessment) -> list[AnswerShown]:
    """Return every question with its answer; a patient's own activities by name."""
    about = measure(assessment.measure)
    texts = texts_for(assessment.wording, about)
    if about.has_own_items:
        named = Activity.objects.filter(patient=assessment.patient_id)
        prompts = {str(a.number): a.words for a in named}
        asked = {k: prompts.get(k, f"Activity {k}") for k in assessment.answers}
    else:
        asked = {item.key: texts.item(item.key).prompt for item in about.items}
    shown = []
    for key, prompt in asked.items():
        labels = {str(o.code): o.label for o in texts.item(key).options}
        code = str(assessment.answers.get(key, ""))
        shown.append(AnswerShown(key, prompt, code, labels.get(code, "")))
    return shown
