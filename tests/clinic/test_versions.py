"""Two people edit one row: the second is told, and nothing is overwritten."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client

from clinic.admitting import change_episode
from clinic.models import Episode, User, Visit
from clinic.versions import StaleEdit, claim
from outcomes.models import Assessment
from tests.factories import make_screened_episode, make_visit
from tests.outcomes.visit_pages import with_akps

SignIn = Callable[..., Client]


@pytest.fixture
def episode(clinician: User, today: date, clock: Callable[[date], None]) -> Episode:
    """A case with one visit."""
    return make_screened_episode(by=clinician, opened_on=today - timedelta(weeks=2))


@pytest.fixture
def visit(episode: Episode, today: date) -> Visit:
    """A visit that two people open."""
    return make_visit(episode=episode, on=today, note="First note", pain={"worst": 6})


def edit(visit: Visit, *, key: int, **fields: Any) -> dict[str, Any]:
    """Return the visit form as it was opened at version 1, with changes."""
    return {
        "form_key": f"00000000-0000-4000-8000-{key:012}",
        "version": "1",
        "attendance": "attended",
        "visited_on": str(visit.visited_on),
        "note": "First note",
        "pain_worst": "6",
        "screen-septic": "no",
        "screen-injury": "no",
        "screen-nerve_vessel": "no",
        "screen-clot": "no",
        "screen-new_or_worse": "no",
        **fields,
    }


def test_the_first_of_two_edits_wins_and_the_second_is_told(episode: Episode) -> None:
    """The row moves on by one version, once."""
    claim(episode, 1)
    assert episode.version == 2
    with pytest.raises(StaleEdit) as told:
        claim(episode, 1)
    assert told.value.row.version == 2


def test_an_act_on_an_old_version_changes_nothing(episode: Episode, lead: User) -> None:
    """The act stops before it writes."""
    change_episode(episode, by=lead, version=1, changes={"goals": "Stairs"})
    with pytest.raises(StaleEdit):
        change_episode(episode, by=lead, version=1, changes={"goals": "Running"})
    episode.refresh_from_db()
    assert episode.goals == "Stairs"


def test_both_versions_of_a_visit_are_shown_and_the_person_decides(
    signed_in: SignIn, visit: Visit, clinician: User, lead: User
) -> None:
    """Stored beside typed, who and when; saving again then replaces it."""
    url = f"/visits/{visit.pk}/"
    theirs = edit(visit, key=1, note="Their note", **with_akps(70))
    assert signed_in(lead).post(url, theirs).status_code == 302
    mine = edit(visit, key=2, note="My note", pain_worst="2")
    answer = signed_in(clinician).post(url, mine)
    page = answer.content.decode()
    assert answer.status_code == 409
    assert f"{lead} saved it 1 Jun 2026, 10:00" in page
    assert "Their note" in page and page.count("My note") == 2
    assert '<td class="as-typed">6</td><td class="as-typed">2</td>' in page
    assert 'name="version" value="2"' in page
    visit.refresh_from_db()
    assert visit.note == "Their note" and visit.pain.worst == 6
    again = {**mine, "version": "2"}
    assert signed_in(clinician).post(url, again).status_code == 302
    visit.refresh_from_db()
    assert (visit.note, visit.pain.worst, visit.version) == ("My note", 2, 3)
    assert Assessment.objects.standing().get().score == 70  # theirs stays


def test_the_same_change_twice_says_that_nothing_is_lost(
    signed_in: SignIn, visit: Visit, clinician: User, lead: User
) -> None:
    """Two people entered the same."""
    url = f"/visits/{visit.pk}/"
    signed_in(lead).post(url, edit(visit, key=1, pain_worst="3"))
    answer = signed_in(clinician).post(url, edit(visit, key=2, pain_worst="3"))
    assert answer.status_code == 409
    assert "with the same entries as yours" in answer.content.decode()


def test_a_repeat_of_a_saved_change_is_no_conflict(
    signed_in: SignIn, visit: Visit, clinician: User
) -> None:
    """The answer was lost on the way; the form comes again under its key."""
    sent = edit(visit, key=1, note="Changed")
    for _ in range(2):
        answer = signed_in(clinician).post(f"/visits/{visit.pk}/", sent)
        assert answer.status_code == 302
    visit.refresh_from_db()
    assert visit.version == 2


@pytest.mark.parametrize("version", [None, "", "x", "-1"])
def test_a_form_without_a_version_never_overwrites(
    signed_in: SignIn, visit: Visit, clinician: User, version: str | None
) -> None:
    """Only a crafted form lacks it."""
    sent = edit(visit, key=1, note="Crafted", version=version)
    sent = {name: value for name, value in sent.items() if value is not None}
    answer = signed_in(clinician).post(f"/visits/{visit.pk}/", sent)
    visit.refresh_from_db()
    assert answer.status_code == 409 and visit.note == "First note"
