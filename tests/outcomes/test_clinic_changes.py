"""Changes in the clinic: noted on the figures by the lead, withdrawn with a reason."""

import uuid
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client

from clinic.models import AuditEvent, Site, User
from outcomes.clinic_changes import note_change, void_change
from outcomes.models import ClinicChange

pytestmark = pytest.mark.usefixtures("clock")

NOTE = "/trends/changes/new/"


@pytest.fixture
def client(lead: User, signed_in: Any) -> Client:
    """The lead's browser."""
    return signed_in(lead)


def sent(**fields: Any) -> dict[str, Any]:
    """Return what the form sends."""
    return {"form_key": str(uuid.uuid4()), **fields}


def noted(site: Site, by: User, on: date, words: str = "Taping for all") -> Any:
    """Note a change."""
    return note_change(site=site, by=by, happened_on=on, words=words)


def lines(action: str) -> list[AuditEvent]:
    """Return the audit lines of an act."""
    return list(AuditEvent.objects.filter(action=action))


def test_a_change_is_noted_once_with_one_line(
    client: Client, lead: User, today: date
) -> None:
    """Two taps of the same form are one change; the page lists it."""
    fields = sent(happened_on=today.isoformat(), words="New first form")
    for _ in range(2):
        assert client.post(NOTE, fields).status_code == 302
    (change,) = ClinicChange.objects.all()
    assert (change.site, change.by, change.happened_on) == (lead.site, lead, today)
    (line,) = lines("change.noted")
    assert (line.by, line.detail["row"]) == (lead, change.pk)
    assert "New first form" in client.get(NOTE).content.decode()


@pytest.mark.parametrize(
    ("days", "words", "said"),
    [
        (1, "Planned", "still to come"),
        (0, "", "in a few words what changed"),
        (0, "x" * 121, "at most 120"),
    ],
)
def test_what_cannot_be_noted_says_what_to_mend(
    client: Client, today: date, days: int, words: str, said: str
) -> None:
    """A plan, an empty note and a long one are refused; nothing is kept."""
    on = (today + timedelta(days=days)).isoformat()
    answer = client.post(NOTE, sent(happened_on=on, words=words))
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert not ClinicChange.objects.exists()


def test_a_change_is_voided_with_a_reason(
    client: Client, lead: User, today: date
) -> None:
    """It leaves the list and stays on record; without a reason nothing happens."""
    change = noted(lead.site, lead, today)
    path = f"/trends/changes/{change.pk}/void/"
    assert client.post(path, sent(why="")).status_code == 422
    assert client.post(path, sent(why="Wrong day")).status_code == 302
    change.refresh_from_db()
    assert (change.voided_by, change.void_reason) == (lead, "Wrong day")
    (line,) = lines("change.voided")
    assert line.detail == {"row": change.pk, "why": "Wrong day"}
    assert "Taping for all" not in client.get(NOTE).content.decode()
    assert client.get(path).status_code == 302


def test_the_second_void_leaves_the_first_alone(lead: User, today: date) -> None:
    """Who voided first, and why, is what stays."""
    change = noted(lead.site, lead, today)
    assert void_change(change, by=lead, why="First")
    assert not void_change(change, by=lead, why="Second")
    change.refresh_from_db()
    assert change.void_reason == "First"
    assert len(lines("change.voided")) == 1


def test_another_site_sees_and_changes_nothing(
    client: Client, lead: User, other_site: Site, stranger: User, today: date
) -> None:
    """A change of another site does not exist here, and nobody notes for another."""
    elsewhere = noted(other_site, stranger, today, "Elsewhere")
    assert "Elsewhere" not in client.get(NOTE).content.decode()
    assert client.get(f"/trends/changes/{elsewhere.pk}/void/").status_code == 404
    with pytest.raises(ValueError, match="a person of the site"):
        noted(other_site, lead, today)


def test_the_figures_read_what_stands(lead: User, today: date) -> None:
    """A voided change is not read for the figures."""
    from outcomes.period_choice import Choice
    from outcomes.trends.reading import read_period

    noted(lead.site, lead, today, "Stays")
    void_change(noted(lead.site, lead, today, "Goes"), by=lead, why="x")
    choice = Choice(from_on=today - timedelta(days=90), until_on=today)
    data = read_period(lead.site, choice, on=today)
    assert data.changes == ((today, "Stays"),)
