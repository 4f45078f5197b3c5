"""The score of a questionnaire while it is being answered."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from .science.measures import Measure
from .science.scoring import BadAnswer, Unscorable, score


@dataclass(frozen=True, slots=True)
class ScoreSoFar:
    """The score while answering: a value, or how far it is."""

    about: Measure
    value: float | None
    sentence: str
    label: str = ""


def score_so_far(about: Measure, answers: Mapping[str, Any]) -> ScoreSoFar:
    """Score what is answered so far; never a guess."""
    of = len(answers) if about.has_own_items else len(about.items)
    try:
        result = score(about, answers)
    except BadAnswer as bad:
        return ScoreSoFar(about, None, bad.message)
    if not answers:
        return ScoreSoFar(about, None, "Nothing answered yet.")
    if isinstance(result, Unscorable):
        return ScoreSoFar(
            about, None, f"{len(answers)} of {of} answered: no total yet."
        )
    if about.method == "single":
        chosen = next(o for o in about.items[0].options if o.points == result.value)
        return ScoreSoFar(about, result.value, "", label=chosen.label)
    better = f"{about.better.sentence}." if about.better else ""
    return ScoreSoFar(
        about, result.value, f"{result.answered} of {of} answered; {better}"
    )
