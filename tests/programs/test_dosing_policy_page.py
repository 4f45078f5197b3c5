"""The lead's page for dosing limits, and for whether suggestions are shown."""

import uuid
from typing import Any

import pytest
from django.test import Client

from clinic.models import AuditEvent, User
from clinic.policy_form import as_typed
from programs.dosing.limits import DOSING_FIELDS, DosingPolicy
from programs.dosing_policies import change_dosing
from programs.gates import dosing_for, is_advice_on
from programs.models import SiteDosing

pytestmark = pytest.mark.usefixtures("clock")

DOSING = "/dosing/"


@pytest.fixture
def client(lead: User, signed_in: Any) -> Client:
    """The lead's browser."""
    return signed_in(lead)


def numbers(**changes: str) -> dict[str, str]:
    """Return the page as it is filled with the defaults, and some changes."""
    filled = {field.name: as_typed(field.default) for field in DOSING_FIELDS}
    frame = {"is_advice_on": "on", "version": "0", "form_key": str(uuid.uuid4())}
    return {**filled, **frame, **changes}


def words(answer: Any) -> str:
    """Return the text of an answer."""
    text: str = answer.content.decode()
    return text.replace("&#x27;", "'")


def test_every_number_shows_its_default_range_reason_and_mark(client: Client) -> None:
    """No number of the policy is hidden."""
    text = words(client.get(DOSING))
    for field in DOSING_FIELDS:
        assert f'name="{field.name}"' in text
        assert f"{field.reason} ({field.mark})" in text
        assert f"default {as_typed(field.default)}" in text
        if not field.choices:
            assert f"{field.low:g} to {field.high:g}" in text
    assert "differs from the default" not in text
    assert "The clinician decides; local rules apply." in text


def test_the_two_policies_lead_to_each_other(client: Client) -> None:
    """A lead looks for both in one place."""
    assert 'href="/policy/"' in words(client.get(DOSING))
    assert 'href="/dosing/"' in words(client.get("/policy/"))


def test_only_what_differs_is_stored(client: Client, lead: User) -> None:
    """A later change of a default reaches the sites that never chose."""
    sent = numbers(easy_pain="1.5", screen_months="2", formula="brzycki")
    assert client.post(DOSING, sent).url == DOSING
    stored = SiteDosing.objects.get(site=lead.site)
    assert stored.values == {
        "easy_pain": 1.5,
        "screen_months": 2,
        "formula": "brzycki",
    }
    assert dosing_for(lead.site).screen_months == 2
    assert words(client.get(DOSING)).count("differs from the default") == 3
    detail = AuditEvent.objects.get(action="dosing.changed").detail
    assert detail["before"] == {"values": {}, "is_advice_on": True}
    assert detail["after"] == {"values": stored.values, "is_advice_on": True}


def test_suggestions_are_turned_off_and_on(client: Client, lead: User) -> None:
    """For the whole clinic, on record both times."""
    off = numbers()
    del off["is_advice_on"]
    client.post(DOSING, off)
    assert not is_advice_on(lead.site)
    client.post(DOSING, numbers(version="1"))
    assert is_advice_on(lead.site)
    lines = AuditEvent.objects.filter(action="dosing.changed").order_by("pk")
    assert [line.detail["after"]["is_advice_on"] for line in lines] == [False, True]


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("easy_pain", "4", "Enter a number from 0 to 3."),
        ("easy_pain", "", "Enter a number from 0 to 3."),
        ("screen_months", "6", "Enter a whole number from 1 to 3."),
        ("flow_load_most", "50", "Enter a whole number from 20 to 40."),
        ("flow_pressure_least", "90", "Enter a whole number from 40 to 80."),
        ("formula", "guess", "Choose one of epley"),
        ("step_most", "1", "Enter a number from 2 to 10."),
        ("cut_most", "15", "Must not be below the lower end, 20."),
    ],
)
def test_what_makes_no_policy_is_said_at_its_field(
    client: Client, field: str, value: str, sentence: str
) -> None:
    """A published range is narrowed, never widened."""
    answer = client.post(DOSING, numbers(**{field: value}))
    assert answer.status_code == 422
    assert sentence in answer.context["form"].errors[field][0]
    assert sentence in words(answer)
    assert not SiteDosing.objects.exists()


def test_two_leads_do_not_overwrite_each_other(client: Client, lead: User) -> None:
    """The second is told, keeps the typing, and may then replace it."""
    change_dosing(
        site=lead.site,
        by=lead,
        values={"easy_pain": 1.0},
        is_advice_on=False,
        version=0,
    )
    sent = numbers(easy_pain="3")
    answer = client.post(DOSING, sent)
    assert answer.status_code == 409
    text = words(answer)
    assert 'value="3"' in text
    assert "Stored now: 1<" in text
    assert "Stored now: off" in text
    assert dosing_for(lead.site).easy_pain == 1.0
    again = sent | {"version": str(answer.context["version"])}
    assert client.post(DOSING, again).status_code == 302
    assert dosing_for(lead.site).easy_pain == 3.0
    assert is_advice_on(lead.site)


def test_a_change_without_its_line_does_not_happen(
    lead: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Row and audit line are one transaction."""

    def change() -> None:
        change_dosing(site=lead.site, by=lead, values={}, is_advice_on=False, version=0)

    def fail(*args: object, **kwargs: object) -> None:
        raise RuntimeError("no line")

    with monkeypatch.context() as patch:
        patch.setattr("clinic.models.record.AuditQuerySet.record", fail)
        with pytest.raises(RuntimeError):
            change()
    assert is_advice_on(lead.site)
    change()
    assert not is_advice_on(lead.site)


def test_another_sites_limits_are_its_own(
    client: Client, lead: User, stranger: User
) -> None:
    """A change holds for one site."""
    client.post(DOSING, numbers(easy_pain="1"))
    assert dosing_for(lead.site).easy_pain == 1.0
    assert dosing_for(stranger.site) == DosingPolicy()
