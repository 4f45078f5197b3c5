"""The act on a suggestion: taken as it stands, taken with changes, or declined.

What was shown is kept as it was shown, with the answer.
"""

from datetime import date

from django.db import transaction

from clinic.models import User

from . import audit
from .lines import line_of
from .models import Prescription, SuggestionChoice
from .prescribing import PlanRefused, change_prescription, record
from .suggesting import NextStep

Choice = SuggestionChoice.Choice
ASKED_AGAIN = "This was answered, or changed, meanwhile. Look at it again."


@transaction.atomic
def accept_step(step: NextStep, *, by: User, on: date) -> SuggestionChoice:
    """Change the line as suggested, or keep its dose where that is the suggestion.

    Raises PlanRefused where nothing is suggested, or the change cannot be prescribed.
    """
    _refuse_unasked(step)
    if not step.can_accept:
        raise PlanRefused("No whole numbers fit this change: change the line yourself.")
    made = None
    if step.changed:
        made = change_prescription(
            step.prescription, by=by, line=step.changed, on=on, why=step.why
        )
    return _keep(step, by=by, on=on, choice=Choice.ACCEPTED, leads_to=made)


@transaction.atomic
def decline_step(
    step: NextStep, *, by: User, on: date, words: str = ""
) -> SuggestionChoice:
    """Keep that the suggestion was not taken, with words where there are some."""
    _refuse_unasked(step)
    return _keep(step, by=by, on=on, choice=Choice.DECLINED, words=words.strip())


@transaction.atomic
def keep_edited(
    step: NextStep, made: Prescription, *, by: User, on: date
) -> SuggestionChoice:
    """Keep that the suggestion led to a change by hand, the same or another one."""
    _refuse_unasked(step)
    is_same = line_of(made) == step.changed
    choice = Choice.ACCEPTED if is_same else Choice.EDITED
    return _keep(step, by=by, on=on, choice=choice, leads_to=made)


def _refuse_unasked(step: NextStep) -> None:
    """Refuse an answer to nothing; of two answers at once the second is refused."""
    Prescription.objects.select_for_update().get(pk=step.prescription.pk)
    answered = SuggestionChoice.objects.filter(
        prescription=step.prescription, suggested_on=step.on
    )
    if not step.is_asked or answered.exists():
        raise PlanRefused(ASKED_AGAIN)


def _keep(
    step: NextStep,
    *,
    by: User,
    on: date,
    choice: str,
    words: str = "",
    leads_to: Prescription | None = None,
) -> SuggestionChoice:
    kept = SuggestionChoice.objects.create(
        site_id=step.prescription.site_id,
        prescription=step.prescription,
        suggested_on=on,
        kind=step.suggestion.kind,
        rule=step.suggestion.rule,
        sentence=step.sentence,
        choice=choice,
        words=words,
        leads_to=leads_to,
        chosen_by=by,
    )
    record(
        audit.SUGGESTION_ANSWERED,
        by,
        step.prescription.phase.programme,
        line=step.prescription.pk,
        rule=step.suggestion.rule,
        choice=choice,
        leads_to=leads_to.pk if leads_to else None,
        words=words,
    )
    return kept
