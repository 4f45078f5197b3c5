"""Declaring a reference period on its pages, and what the section makes of it."""

import uuid
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from clinic.models import AuditEvent, User
from outcomes.models import FrozenReference
from outcomes.reference_subjects import SUBJECTS
from outcomes.science.group.adjusted import Model
from outcomes.trends.months_reference import MONTHS_SUBJECTS
from outcomes.voiding import void_assessment
from tests.factories import make_akps, make_episode

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]

LIST = reverse("outcomes:trends_references")
AKPS = reverse("outcomes:trends_declare", args=["model-akps"])
OPENED = date(2025, 9, 1)


@pytest.fixture
def client(lead: User, signed_in: Any) -> Client:
    """The lead's browser."""
    return signed_in(lead)


@pytest.fixture
def measured(clinician: User) -> None:
    """Forty-six cases that were measured at both ends."""
    for number in range(46):
        opened_on = OPENED + timedelta(days=number)
        episode = make_episode(
            by=clinician,
            opened_on=opened_on,
            symptom_onset_on=opened_on - timedelta(days=40 + 20 * number),
        )
        make_akps(episode=episode, on=opened_on, total=50 + number % 20)
        later_on = opened_on + timedelta(days=84)
        make_akps(episode=episode, on=later_on, total=62 + number * 7 % 30)


def filled(**changes: str) -> dict[str, str]:
    """Return the form as a lead fills it, and some changes."""
    stated = {
        "from_on": "2025-09-01",
        "until_on": "2025-12-31",
        "why": "The autumn before the new programme.",
        "form_key": str(uuid.uuid4()),
    }
    return {**stated, **changes}


def words(answer: Any) -> str:
    """Return the text of an answer."""
    return answer.content.decode().replace("&#x27;", "'")


def test_every_subject_is_listed_and_can_be_declared(client: Client) -> None:
    """Nothing is declared at first; each subject has its page."""
    page = words(client.get(LIST))
    assert page.count("None declared.") == len(SUBJECTS)
    for slug in SUBJECTS:
        path = reverse("outcomes:trends_declare", args=[slug])
        assert path in page
        assert client.get(path).status_code == 200
    unknown = reverse("outcomes:trends_declare", args=["model-groc"])
    assert client.get(unknown).status_code == 404


def test_the_months_have_their_subjects_here() -> None:
    """What the months ask for can be declared, and nothing else."""
    found = {about.subject for about in SUBJECTS.values() if not about.measure}
    assert found == set(MONTHS_SUBJECTS)


@pytest.mark.usefixtures("measured")
def test_a_declared_model_is_kept_and_used(client: Client, lead: User) -> None:
    """The page of the section holds later cases against it; one line is on record."""
    answer = client.post(AKPS, filled())
    assert answer.url == reverse("outcomes:trends_section", args=["adjusted"])
    kept = FrozenReference.objects.get()
    model = Model.from_plain(kept.numbers)
    assert (kept.subject, kept.declared_by, model.n) == ("model akps", lead, 46)
    assert kept.why == "The autumn before the new programme."
    page = words(client.get(answer.url))
    assert "Reference period: cases opened 1 Sep 2025 to 31 Dec 2025." in page
    assert "46 cases changed by" in page
    assert "The autumn before the new programme." in words(client.get(LIST))
    line = AuditEvent.objects.get(action="reference.declared")
    assert (line.by, line.detail["subject"]) == (lead, "model akps")


@pytest.mark.usefixtures("measured")
def test_a_frozen_model_does_not_move_and_a_new_one_replaces_it(
    client: Client, lead: User
) -> None:
    """A score voided later leaves the kept numbers as they are."""
    client.post(AKPS, filled())
    before = FrozenReference.objects.get().numbers
    episode = lead.site.people.get(username="c.avermore").episodes.first()
    void_assessment(episode.assessments.last(), by=lead, why="Entered twice.")
    assert FrozenReference.objects.get().numbers == before
    assert "In force now: 1 Sep 2025" in words(client.get(AKPS))
    client.post(AKPS, filled(until_on="2025-12-01"))
    first, second = FrozenReference.objects.order_by("pk")
    assert first.retired_at
    assert not second.retired_at
    assert second.numbers["n"] == 45
    assert first.numbers == before


@pytest.mark.usefixtures("measured")
def test_a_double_tap_declares_once(client: Client) -> None:
    """The same form twice is one declaration."""
    sent = filled()
    assert client.post(AKPS, sent).url == client.post(AKPS, sent).url
    assert FrozenReference.objects.count() == 1


@pytest.mark.parametrize(
    ("changes", "refusal"),
    [
        ({}, "0 have an outcome; the model needs 45"),
        ({"until_on": "2026-05-01"}, "Choose 9 Feb 2026 or an earlier day"),
        ({"until_on": "2026-07-01"}, "still to come"),
        ({"until_on": "2025-09-01"}, "would end before it begins"),
        ({"why": ""}, "why"),
    ],
)
def test_a_period_that_cannot_serve_is_refused_in_words(
    changes: dict[str, str], refusal: str, client: Client
) -> None:
    """Nothing is stored, and what was typed stays in the form."""
    answer = client.post(AKPS, filled(**changes))
    assert answer.status_code == 422
    page = words(answer)
    assert refusal in page
    assert 'value="2025-09-01"' in page
    assert not FrozenReference.objects.exists()


@pytest.mark.usefixtures("measured")
def test_months_of_too_short_a_period_are_refused(client: Client) -> None:
    """Twelve complete points are needed; the words come from the months."""
    path = reverse("outcomes:trends_declare", args=["share-reached"])
    answer = client.post(path, filled())
    assert answer.status_code == 422
    assert "needs 12 complete points" in words(answer)


@pytest.mark.usefixtures("measured")
def test_another_site_is_neither_counted_nor_shown(
    client: Client, other_site: Any, stranger: User
) -> None:
    """A reference of one clinic holds its own cases alone."""
    make_akps(episode=make_episode(by=stranger, opened_on=OPENED), on=OPENED, total=60)
    client.post(AKPS, filled())
    assert FrozenReference.objects.get().numbers["n"] == 46
    FrozenReference.objects.update(site=other_site)
    assert "None declared." in words(client.get(LIST))
    assert "In force now" not in words(client.get(AKPS))
