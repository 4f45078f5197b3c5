"""The pages of the review: who sees what, the choice of cases, the cases behind."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from clinic.models import Episode, User
from outcomes.trends_titles import TITLES
from tests.factories import make_akps, make_episode

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]
OPENED = date(2026, 1, 5)
SignedIn = Callable[[User], Client]


def followed(by: User, gain: int = 15, **details: Any) -> Episode:
    """Open a case that was measured at both ends."""
    episode = make_episode(by=by, opened_on=OPENED, **details)
    make_akps(episode=episode, on=OPENED, total=60)
    make_akps(episode=episode, on=OPENED + timedelta(days=84), total=60 + gain)
    return episode


def section(client: Client, key: str, **query: str) -> str:
    """Return the page of a section as text."""
    path = reverse("outcomes:trends_section", args=[key])
    answer = client.get(path, query)
    assert answer.status_code == 200
    return answer.content.decode()


@pytest.mark.parametrize("key", TITLES)
def test_another_site_changes_nothing(
    key: str, lead: User, clinician: User, stranger: User, signed_in: SignedIn
) -> None:
    """Not one number of any section moves with another clinic's cases."""
    followed(clinician)
    client = signed_in(lead)
    before = shown(section(client, key))
    for _ in range(12):
        followed(stranger, gain=30)
    assert shown(section(client, key)) == before


def shown(page: str) -> str:
    """Return what stands in the main part, without the form's own tokens."""
    start = page.index('id="trends-section"')
    return page[start : page.index("</main>")]


@pytest.mark.parametrize("key", TITLES)
def test_an_empty_clinic_has_every_page(
    key: str, lead: User, signed_in: SignedIn
) -> None:
    """A page without a case says so and stands."""
    assert TITLES[key] in section(signed_in(lead), key)


def test_an_unknown_question_is_not_found(lead: User, signed_in: SignedIn) -> None:
    """Addresses are not guessed."""
    assert signed_in(lead).get("/trends/ranking/").status_code == 404


def test_the_period_is_two_years_at_first(lead: User, signed_in: SignedIn) -> None:
    """The form shows what the page stands on."""
    page = section(signed_in(lead), "flow")
    assert 'value="2024-06-01"' in page
    assert 'value="2026-06-01"' in page


def test_a_period_that_ends_before_it_begins_is_refused_in_words(
    lead: User, signed_in: SignedIn
) -> None:
    """What was chosen stays in the form."""
    query = {"opened_from": "2026-05-01", "opened_until": "2026-04-01"}
    answer = signed_in(lead).get(reverse("outcomes:trends"), query)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "before the first one" in page
    assert 'value="2026-05-01"' in page


@pytest.mark.parametrize(
    ("name", "value"), [("clinician", "999"), ("side", "middle"), ("duration", "x")]
)
def test_a_choice_that_was_not_offered_is_refused(
    name: str, value: str, lead: User, signed_in: SignedIn
) -> None:
    """It neither breaks the page nor counts as all."""
    answer = signed_in(lead).get(reverse("outcomes:trends"), {name: value})
    assert answer.status_code == 422


def test_a_clinician_of_another_site_is_not_offered(
    lead: User, stranger: User, signed_in: SignedIn
) -> None:
    """Nor accepted."""
    followed(stranger)
    client = signed_in(lead)
    assert str(stranger) not in section(client, "flow")
    answer = client.get(reverse("outcomes:trends"), {"clinician": str(stranger.pk)})
    assert answer.status_code == 422


def test_a_number_leads_to_its_cases(
    lead: User, clinician: User, signed_in: SignedIn
) -> None:
    """Exactly those that were counted."""
    inside, outside = followed(clinician), followed(clinician, side="right")
    path = reverse("outcomes:trends_cases", args=["flow"])
    query = {"set": "flow_opened", "side": "left"}
    page = signed_in(lead).get(path, query).content.decode()
    assert reverse("outcomes:case", args=[inside.pk]) in page
    assert reverse("outcomes:case", args=[outside.pk]) not in page


def test_a_set_that_does_not_exist_is_not_found(
    lead: User, signed_in: SignedIn
) -> None:
    """So is a set without a name."""
    path = reverse("outcomes:trends_cases", args=["flow"])
    for query in ({"set": "nobody"}, {}):
        assert signed_in(lead).get(path, query).status_code == 404


def test_the_report_holds_every_section(
    lead: User, clinician: User, signed_in: SignedIn
) -> None:
    """On one sheet, without links to single cases."""
    episode = followed(clinician)
    page = signed_in(lead).get(reverse("outcomes:trends_report")).content.decode()
    for title in TITLES.values():
        assert title in page
    assert reverse("outcomes:case", args=[episode.pk]) not in page
    assert "/cases/" not in page


def test_the_report_names_nobody_below_the_floor(
    lead: User, clinician: User, colleague: User, signed_in: SignedIn
) -> None:
    """A clinician with few cases is neither named with a share nor derivable."""
    for _ in range(12):
        followed(clinician)
    followed(colleague)
    page = signed_in(lead).get(reverse("outcomes:trends_report")).content.decode()
    clinicians = page[page.index('id="section-clinicians"') :]
    block = clinicians[: clinicians.index("</section>")]
    assert str(clinician) not in block
    assert str(colleague) not in block
    assert "2 clinicians together" in block


def test_queries_do_not_grow_with_cases(
    lead: User,
    clinician: User,
    signed_in: SignedIn,
    query_count: Callable[[Client, str], int],
) -> None:
    """The same number for one case and for six, on every page."""
    client = signed_in(lead)
    paths = [reverse("outcomes:trends_section", args=[key]) for key in TITLES]
    followed(clinician)
    few = [query_count(client, path) for path in paths]
    for _ in range(5):
        followed(clinician)
    assert [query_count(client, path) for path in paths] == few


def test_a_period_that_cannot_be_shown_says_so(lead: User, signed_in: SignedIn) -> None:
    """Nothing is saved on these pages, so nobody is told that nothing was."""
    wrong = {"opened_from": "2026-06-01", "opened_until": "2025-01-01"}
    page = signed_in(lead).get(reverse("outcomes:trends"), wrong)
    assert page.status_code == 422
    assert "No cases are shown yet" in page.content.decode()
    assert "Nothing was saved" not in page.content.decode()
