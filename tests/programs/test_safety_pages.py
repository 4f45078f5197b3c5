"""The safety pages of a case: flow-restriction screen, adverse events, other care."""

import uuid
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from clinic.admitting import discharge
from clinic.models import AuditEvent, Episode, User
from programs import gates
from programs.dosing.flow_questions import questions
from programs.dosing.flow_screen import Blocked, Clear, Expired
from programs.models import AdverseEvent, FlowScreen, OtherCare
from tests.factories import (
    make_episode,
    make_event,
    make_flow_screen,
    make_other_care,
)

pytestmark = pytest.mark.usefixtures("clock")


@pytest.fixture
def case(clinician: User, today: date) -> Episode:
    """A case of ten weeks."""
    return make_episode(by=clinician, opened_on=today - timedelta(weeks=10))


@pytest.fixture
def client(clinician: User, signed_in: Any) -> Client:
    """The clinician's browser."""
    return signed_in(clinician)


def page(name: str, row: Any) -> str:
    """Return the address of a page about a case or a row."""
    return reverse(f"programs:{name}", args=[row.pk])


def words(answer: Any) -> str:
    """Return the text of an answer."""
    text: str = answer.content.decode()
    return text.replace("&#x27;", "'")


def filled_screen(**changes: str) -> dict[str, str]:
    """Return the screen's form with no throughout, and some changes."""
    answers = {f"ask_{key}": "no" for key in questions().keys}
    return {**answers, "decision": "", "form_key": str(uuid.uuid4()), **changes}


def filled_event(on: date, **changes: str) -> dict[str, str]:
    """Return the event's form as it is filled in, and some changes."""
    return {
        "happened_on": on.isoformat(),
        "is_during_flow_restriction": "yes",
        "prescription": "",
        "what": "Tingling in the foot (invented).",
        "done": "Cuff off (invented).",
        "form_key": str(uuid.uuid4()),
        **changes,
    }


def filled_care(on: date, **changes: str) -> dict[str, str]:
    """Return the form for other care as it is filled in, and some changes."""
    return {
        "what": "injection",
        "began_on": on.isoformat(),
        "ended_on": "",
        "words": "Invented injection.",
        "form_key": str(uuid.uuid4()),
        **changes,
    }


# The flow-restriction screen


def test_every_question_is_asked_and_nothing_is_answered(
    client: Client, case: Episode
) -> None:
    """With its reason; the stop signs stand beside it."""
    text = words(client.get(page("flow_screen", case)))
    asked = questions()
    for key, ask in asked.asked.items():
        assert f'name="ask_{key}"' in text
        assert ask in text
    for item in asked.contraindications:
        assert item.reason in text
    for stop in asked.stop_signs:
        assert stop.sign in text
        assert stop.act in text
    assert " checked" not in text
    assert "There is no valid screen" in text
    assert "the clinician decides" in text


def test_a_signed_screen_opens_the_gate(
    client: Client, case: Episode, clinician: User, today: date
) -> None:
    """Under the name of whoever saves it."""
    answer = client.post(page("flow_screen", case), filled_screen(), follow=True)
    assert "valid until 1 Sep 2026" in words(answer)
    screen = FlowScreen.objects.get()
    assert (screen.signed_by, screen.answered_on) == (clinician, today)
    assert isinstance(gates.flow_status(case, on=today), Clear)
    assert AuditEvent.objects.filter(action="flow_screen.signed").count() == 1


@pytest.mark.parametrize("key", questions().keys)
def test_an_open_question_saves_nothing(
    client: Client, case: Episode, key: str
) -> None:
    """Each is asked for by name."""
    sent = filled_screen()
    del sent[f"ask_{key}"]
    answer = client.post(page("flow_screen", case), sent)
    assert answer.status_code == 422
    assert set(answer.context["form"].errors) == {f"ask_{key}"}
    assert not FlowScreen.objects.exists()
    client.post(page("flow_screen", case), sent | {f"ask_{key}": "no"})
    assert FlowScreen.objects.exists()


def test_a_blocked_screen_is_kept_and_shows_why(
    client: Client, case: Episode, today: date
) -> None:
    """It is a record; there is no override."""
    sent = filled_screen(ask_clot="yes", decision="I would still do it.")
    text = words(client.post(page("flow_screen", case), sent, follow=True))
    assert "Ruled out" in text
    assert "There is no override. Have it cleared by a physician" in text
    assert "A cuff may set off or loosen a clot." in text
    assert isinstance(gates.flow_status(case, on=today), Blocked)


def test_a_risk_without_a_decision_is_kept_and_stays_closed(
    client: Client, case: Episode
) -> None:
    """With the words it opens."""
    sent = filled_screen(ask_smoking="yes")
    text = words(client.post(page("flow_screen", case), sent, follow=True))
    assert "A decision in words is missing" in text
    again = filled_screen(ask_smoking="yes", decision="Low pressure at first.")
    text = words(client.post(page("flow_screen", case), again, follow=True))
    assert "The screen is valid until" in text
    assert "Decided: Low pressure at first." in text


def test_no_gives_way_to_cleared_once_it_had_stopped_the_case(
    client: Client, case: Episode, today: date
) -> None:
    """A crafted "no" is refused, and a clearance is asked for in whole."""
    stopped_on = today - timedelta(days=7)
    make_flow_screen(episode=case, on=stopped_on, answers={"clot": "yes"})
    path = page("flow_screen", case)
    text = words(client.get(path))
    assert 'name="ask_clot" value="no"' not in text
    assert 'name="ask_clot" value="cleared"' in text
    assert 'name="ask_heart" value="cleared"' not in text
    assert client.post(path, filled_screen()).status_code == 422
    cleared = filled_screen(ask_clot="cleared", decision="Low pressure.")
    answer = client.post(path, cleared)
    assert set(answer.context["form"].errors) == {
        "physician",
        "physician_answer",
        "physician_answered_on",
        "stopped_on",
    }
    whole = cleared | {
        "physician": "Dr Inventa",
        "physician_answer": "May train with a cuff.",
        "physician_answered_on": today.isoformat(),
        "stopped_on": stopped_on.isoformat(),
    }
    assert FlowScreen.objects.count() == 1
    text = words(client.post(path, whole, follow=True))
    assert "The screen is valid until" in text
    assert "Dr Inventa, 1 Jun 2026: May train with a cuff." in text
    assert "Cleared by a physician: A clot" in text


def test_a_clearance_with_nothing_cleared_is_not_dropped(
    client: Client, case: Episode, today: date
) -> None:
    """What was typed is neither saved nor lost in silence."""
    make_flow_screen(episode=case, on=today, answers={"clot": "yes"})
    sent = filled_screen(ask_clot="yes", physician="Dr Inventa")
    answer = client.post(page("flow_screen", case), sent)
    assert answer.status_code == 422
    assert "No answer above is marked as cleared." in words(answer)


def test_a_yes_in_another_case_of_the_person_is_shown(
    client: Client, case: Episode, clinician: User, today: date
) -> None:
    """It decides nothing here; it reminds whoever asks."""
    other = make_episode(by=clinician, patient=case.patient, side="right")
    make_flow_screen(episode=other, on=today, answers={"clot": "yes"})
    text = words(client.get(page("flow_screen", case)))
    assert "Answered yes in another case of this person, on 1 Jun 2026." in text


def test_a_screen_sent_twice_is_signed_once(client: Client, case: Episode) -> None:
    """Two taps, one screen."""
    sent = filled_screen()
    for _ in range(2):
        assert client.post(page("flow_screen", case), sent).status_code == 302
    assert FlowScreen.objects.count() == 1


def test_a_screen_is_voided_with_a_reason(
    client: Client, case: Episode, today: date
) -> None:
    """It stays on record, struck through."""
    screen = make_flow_screen(episode=case, on=today)
    path = page("void_flow_screen", screen)
    assert client.post(path, {"why": " "}).status_code == 422
    assert "Void the flow-restriction screen of 1 Jun 2026" in words(client.get(path))
    answer = client.post(path, {"why": "Another patient."}, follow=True)
    assert "There is no valid screen" in words(answer)
    assert "Another patient." in words(answer)


def test_a_colleague_reads_and_does_not_write(
    case: Episode, colleague: User, signed_in: Any, today: date
) -> None:
    """The status is for everyone of the clinic, the form for those who treat."""
    make_flow_screen(episode=case, on=today)
    make_event(episode=case, on=today)
    make_other_care(episode=case, on=today)
    client = signed_in(colleague)
    for name in ("flow_screen", "report_event", "add_other_care"):
        text = words(client.get(page(name, case)))
        assert "cover the case first" in text
        assert "save-bar" not in text
        assert "/void/" not in text
        assert client.post(page(name, case), filled_screen()).status_code == 403


def test_a_discharged_case_takes_events_but_no_screen(
    client: Client, case: Episode, clinician: User, today: date
) -> None:
    """What goes wrong may show after the last visit."""
    discharge(
        case, by=clinician, on=today, reason="goals met", note="", version=case.version
    )
    assert client.post(page("flow_screen", case), filled_screen()).url == (
        case.get_absolute_url()
    )
    assert not FlowScreen.objects.exists()
    client.post(page("report_event", case), filled_event(today))
    assert AdverseEvent.objects.count() == 1


# Adverse events


def test_an_event_ends_the_screen_and_says_so(
    client: Client, case: Episode, today: date
) -> None:
    """Whoever reports it is told what it means."""
    make_flow_screen(episode=case, on=today)
    path = page("report_event", case)
    assert "ends the flow-restriction screen" in words(client.get(path))
    text = words(client.post(path, filled_event(today), follow=True))
    assert "The flow-restriction screen no longer holds" in text
    assert "Tingling in the foot (invented)." in text
    assert isinstance(gates.flow_status(case, on=today), Expired)
    shown = words(client.get(page("flow_screen", case)))
    assert "The screen ended on 1 Jun 2026" in shown
    assert "An adverse event was recorded after the safety screen" in shown


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"happened_on": "2026-06-02"}, "happened_on"),
        ({"happened_on": "2026-03-22"}, "happened_on"),
        ({"what": " "}, "what"),
        ({"done": ""}, "done"),
        ({"is_during_flow_restriction": ""}, "is_during_flow_restriction"),
        ({"prescription": "99"}, "prescription"),
    ],
)
def test_an_event_is_whole_and_within_the_case(
    client: Client, case: Episode, today: date, changes: dict[str, str], field: str
) -> None:
    """The case opened on 23 March, and today is 1 June."""
    path, sent = page("report_event", case), filled_event(today)
    answer = client.post(path, sent | changes)
    assert answer.status_code == 422
    assert set(answer.context["form"].errors) == {field}
    assert not AdverseEvent.objects.exists()
    assert client.post(path, sent).status_code == 302
    assert AdverseEvent.objects.get().happened_on == today


def test_an_event_is_voided_with_a_reason(
    client: Client, case: Episode, today: date
) -> None:
    """The screen that it had ended holds again, and the page says so before."""
    make_flow_screen(episode=case, on=today)
    event = make_event(episode=case, on=today)
    path = page("void_event", event)
    assert "holds again" in words(client.get(path))
    assert client.post(path, {"why": ""}).status_code == 422
    answer = client.post(path, {"why": "Another patient."}, follow=True)
    assert "Another patient." in words(answer)
    assert isinstance(gates.flow_status(case, on=today), Clear)
    assert client.post(path, {"why": "Again."}).status_code == 302
    event.refresh_from_db()
    assert event.void_reason == "Another patient."


# Other care


def test_other_care_is_kept_ended_and_voided(
    client: Client, case: Episode, today: date
) -> None:
    """Each step on its page, each on record."""
    began_on = today - timedelta(days=20)
    path = page("add_other_care", case)
    text = words(client.post(path, filled_care(began_on), follow=True))
    assert "Injection: Invented injection." in text
    assert "No end on record" in text
    care = OtherCare.objects.get()
    end = page("end_other_care", care)
    assert client.post(end, {"ended_on": "2026-06-02"}).status_code == 422
    assert client.post(end, {"ended_on": "2026-05-11"}).status_code == 422
    text = words(client.post(end, {"ended_on": "2026-05-20"}, follow=True))
    assert "12 May 2026 to 20 May 2026" in text
    void = page("void_other_care", care)
    text = words(client.post(void, {"why": "Another patient."}, follow=True))
    assert "Another patient." in text
    assert client.get(end).url == path


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"began_on": "2026-06-02"}, "began_on"),
        ({"began_on": "2026-03-22"}, "began_on"),
        ({"ended_on": "2026-05-31"}, "ended_on"),
        ({"ended_on": "2026-06-02"}, "ended_on"),
        ({"what": "gossip"}, "what"),
        ({"words": ""}, "words"),
    ],
)
def test_other_care_is_whole_and_within_the_case(
    client: Client, case: Episode, today: date, changes: dict[str, str], field: str
) -> None:
    """The case opened on 23 March, and today is 1 June."""
    path, sent = page("add_other_care", case), filled_care(today)
    answer = client.post(path, sent | changes)
    assert answer.status_code == 422
    assert set(answer.context["form"].errors) == {field}
    assert not OtherCare.objects.exists()
    assert client.post(path, sent).status_code == 302
    assert OtherCare.objects.count() == 1


@pytest.mark.parametrize("name", ["flow_screen", "report_event", "add_other_care"])
def test_the_lists_cost_the_same_however_long(
    client: Client, case: Episode, today: date, query_count: Any, name: str
) -> None:
    """No query for each row."""

    def add() -> None:
        make_flow_screen(episode=case, on=today)
        make_event(episode=case, on=today)
        make_other_care(episode=case, on=today)

    add()
    one = query_count(client, page(name, case))
    add()
    add()
    assert query_count(client, page(name, case)) == one
