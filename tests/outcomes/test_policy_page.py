"""The lead's page for the review policy, and what a policy costs."""

import uuid
from typing import Any

import pytest
from django.test import Client

from clinic.models import AuditEvent, User
from clinic.policy_form import as_typed
from outcomes.models import SitePolicy
from outcomes.policies import change_policy, policy_for
from outcomes.science.policy import POLICY_FIELDS, StallPolicy
from outcomes.science.policy_settings import OWN_THRESHOLDS

pytestmark = pytest.mark.usefixtures("clock")

POLICY, COST = "/policy/", "/policy/cost/"


@pytest.fixture
def client(lead: User, signed_in: Any) -> Client:
    """The lead's browser."""
    return signed_in(lead)


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Simulate few cases."""
    monkeypatch.setattr("outcomes.policy_cost.CASES", 40)


def numbers(**changes: str) -> dict[str, str]:
    """Return the page as it is filled with the defaults, and some changes."""
    filled = {field.name: as_typed(field.default) for field in POLICY_FIELDS}
    return {**filled, "version": "0", "form_key": str(uuid.uuid4()), **changes}


def words(answer: Any) -> str:
    """Return the text of an answer."""
    return answer.content.decode()


def test_every_number_shows_its_default_range_reason_and_mark(client: Client) -> None:
    """No number of the policy is hidden."""
    text = words(client.get(POLICY)).replace("&#x27;", "'")
    for field in POLICY_FIELDS:
        assert f'name="{field.name}"' in text
        if field.group == OWN_THRESHOLDS:
            continue
        assert field.reason in text
        assert f"({field.mark})" in text
        assert f"{field.low:g} to {field.high:g}" in text
    assert "differs from the default" not in text
    # Clinical reference 14.5: MDC 13 and MCID 10 for AKPS, which a site may replace.
    assert "Empty keeps the catalogue's: 13 (" in text
    assert "Empty keeps the catalogue's: 10 (" in text


def test_only_what_differs_is_stored(client: Client, lead: User) -> None:
    """A later change of a default reaches the sites that never chose."""
    answer = client.post(POLICY, numbers(overdue_days="10", schedule_weeks="0, 4, 8"))
    assert answer.url == POLICY
    stored = SitePolicy.objects.get(site=lead.site)
    assert stored.values == {"overdue_days": 10, "schedule_weeks": [0, 4, 8]}
    assert policy_for(lead.site).overdue_days == 10
    assert words(client.get(POLICY)).count("differs from the default") == 2
    detail = AuditEvent.objects.get(action="policy.changed").detail
    assert detail["after"] == stored.values


def test_an_own_threshold_is_stored_and_taken_back(client: Client, lead: User) -> None:
    """Empty means the catalogue's number."""
    client.post(POLICY, numbers(mcid_akps="8.5"))
    assert policy_for(lead.site).mcid_for("akps") == 8.5
    client.post(POLICY, numbers(version="1"))
    assert policy_for(lead.site).mcid_for("akps") is None


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("planned_weeks", "3", "whole number from 4 to 52"),
        ("planned_weeks", "", "from 4 to 52"),
        ("slow_share", "half", "Enter a number from 0.1 to 1"),
        ("schedule_weeks", "3, 6", "first week must be 0"),
        ("first_review_weeks", "20", "after the planned 12 weeks"),
        ("early_days", "21", "less than 21 days"),
    ],
)
def test_what_makes_no_policy_is_said_at_its_field(
    client: Client, field: str, value: str, sentence: str
) -> None:
    """The science judges; the page puts its sentence where it belongs."""
    answer = client.post(POLICY, numbers(**{field: value}))
    assert answer.status_code == 422
    assert sentence in answer.context["form"].errors[field][0]
    assert sentence in words(answer)
    assert not SitePolicy.objects.exists()


def test_two_leads_do_not_overwrite_each_other(client: Client, lead: User) -> None:
    """The second is told, keeps the typing, and may then replace it."""
    change_policy(site=lead.site, by=lead, values={"overdue_days": 9}, version=0)
    sent = numbers(overdue_days="12")
    answer = client.post(POLICY, sent)
    assert answer.status_code == 409
    assert 'value="12"' in words(answer)
    assert "Stored now: 9" in words(answer)
    assert policy_for(lead.site).overdue_days == 9
    again = sent | {"version": str(answer.context["version"])}
    assert client.post(POLICY, again).status_code == 302
    assert policy_for(lead.site).overdue_days == 12


def test_the_defaults_can_be_put_back(client: Client, lead: User) -> None:
    """After a tick; without it nothing happens."""
    change_policy(site=lead.site, by=lead, values={"overdue_days": 9}, version=0)
    sent = {"is_reset": "", "version": "1", "form_key": str(uuid.uuid4())}
    answer = client.post(POLICY, sent)
    assert answer.status_code == 422
    assert policy_for(lead.site).overdue_days == 9
    assert client.post(POLICY, sent | {"reset": "on"}).url == POLICY
    assert policy_for(lead.site) == StallPolicy()


def test_another_sites_policy_is_its_own(
    client: Client, lead: User, stranger: User
) -> None:
    """A change holds for one site."""
    client.post(POLICY, numbers(overdue_days="10"))
    assert policy_for(stranger.site) == StallPolicy()


# The cost


@pytest.mark.usefixtures("quick")
def test_the_cost_of_the_stored_policy_is_a_page(client: Client) -> None:
    """For each true course, with its error and its set-up."""
    text = words(client.get(COST))
    for truth in ("flat", "on course", "improving fast", "worsening"):
        assert f">{truth}</th>" in text
    assert "No measurable progress" in text
    assert "40 invented cases" in text
    assert "±" in text


@pytest.mark.usefixtures("quick")
def test_the_cost_of_typed_numbers_changes_nothing(client: Client) -> None:
    """Without script the numbers travel on, to be saved or changed again."""
    answer = client.post(COST, numbers(overdue_days="10"))
    text = words(answer)
    assert "as you typed them" in text
    assert '<input type="hidden" name="overdue_days" value="10"' in text
    assert not SitePolicy.objects.exists()
    draft = client.post(POLICY, numbers(overdue_days="10", edit="yes"))
    assert draft.status_code == 200
    assert "not saved yet" in words(draft)
    assert not SitePolicy.objects.exists()


@pytest.mark.usefixtures("quick")
def test_htmx_gets_the_tables_alone(client: Client) -> None:
    """The same address, the part only."""
    answer = client.post(COST, numbers(), headers={"HX-Request": "true"})
    assert words(answer).strip().startswith('<div id="policy-cost"')
    assert "HX-Request" in answer["Vary"]


def test_the_cost_of_no_policy_says_what_to_mend(client: Client) -> None:
    """Nothing is simulated with numbers that make no policy."""
    answer = client.post(COST, numbers(planned_weeks="3"))
    assert answer.status_code == 422
    assert "whole number from 4 to 52" in words(answer)
