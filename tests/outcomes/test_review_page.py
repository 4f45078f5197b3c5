"""Deciding on a flagged case."""

import uuid
from datetime import date, timedelta
from typing import Any

import pytest

from clinic.models import AuditEvent, Episode, User
from outcomes.models import CaseReview
from tests.factories import make_episode


@pytest.fixture
def episode(clinician: User, today: date, clock: Any) -> Episode:
    """A case not seen for ten weeks."""
    return make_episode(by=clinician, opened_on=today - timedelta(weeks=10))


def answers(today: date, **changes: str) -> dict[str, str]:
    """Return a complete review."""
    filled = {
        "decision": "change",
        "why": "Load was too low.",
        "look_again_on": (today + timedelta(days=21)).isoformat(),
        "form_key": str(uuid.uuid4()),
    }
    return {**filled, **changes}


def test_a_decision_is_kept_with_what_was_seen(
    clinician: User, episode: Episode, signed_in: Any, today: date
) -> None:
    """The review names the findings, and stands in the audit trail."""
    answer = signed_in(clinician).post(f"/cases/{episode.pk}/review/", answers(today))
    assert answer.url == f"/cases/{episode.pk}/"
    review = CaseReview.objects.get()
    assert set(review.findings) == {"remeasure_overdue", "not_seen", "baseline_missing"}
    assert AuditEvent.objects.filter(action="case.reviewed").count() == 1


def test_a_double_tap_keeps_one_decision(
    clinician: User, episode: Episode, signed_in: Any, today: date
) -> None:
    """The same form twice is one review."""
    filled = answers(today)
    for _ in range(2):
        signed_in(clinician).post(f"/cases/{episode.pk}/review/", filled)
    assert CaseReview.objects.count() == 1


def test_a_decision_to_discharge_leads_to_the_discharge(
    clinician: User, episode: Episode, signed_in: Any, today: date
) -> None:
    """The case is not discharged by the review itself."""
    filled = answers(today, decision="discharge")
    answer = signed_in(clinician).post(f"/cases/{episode.pk}/review/", filled)
    assert answer.url == f"/cases/{episode.pk}/discharge/"
    episode.refresh_from_db()
    assert episode.is_open


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"why": ""}, "Fill this in."),
        ({"decision": "shrug"}, "Choose one of these"),
        ({"look_again_on": "2026-06-01"}, "Choose a day after today."),
        ({"look_again_on": "2027-06-01"}, "Choose a day within half a year"),
        ({"look_again_on": "soon"}, "Write the day like 2026-12-31."),
    ],
)
def test_bad_input_is_told_and_nothing_is_lost(
    clinician: User,
    episode: Episode,
    signed_in: Any,
    today: date,
    changes: dict[str, str],
    sentence: str,
) -> None:
    """The message stands at the field and the typing stays."""
    filled = answers(today, **changes)
    answer = signed_in(clinician).post(f"/cases/{episode.pk}/review/", filled)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert sentence in page
    assert filled["why"] in page
    assert not CaseReview.objects.exists()


def test_a_colleague_cannot_decide(
    clinician: User, colleague: User, episode: Episode, signed_in: Any, today: date
) -> None:
    """The refusal and the success share their set-up."""
    address = f"/cases/{episode.pk}/review/"
    assert signed_in(colleague).post(address, answers(today)).status_code == 403
    assert not CaseReview.objects.exists()
    assert signed_in(clinician).post(address, answers(today)).status_code == 302
