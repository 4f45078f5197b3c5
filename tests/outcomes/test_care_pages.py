"""Cover, hand over, contact log; the screen of a case and the decision on it."""

import uuid
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client

from clinic.admitting import change_episode, cover_case
from clinic.models import ContactAttempt, Cover, Episode, Screen, User
from clinic.screening import answer_screen, decide, questions
from tests.factories import make_episode

pytestmark = pytest.mark.usefixtures("clock")


@pytest.fixture
def case(clinician: User) -> Episode:
    """The clinician's case."""
    return make_episode(by=clinician)


def words(answer: Any) -> str:
    """Return the text of an answer."""
    return answer.content.decode()


def cover_form(person: User, today: date, **changes: str) -> dict[str, str]:
    """Return a filled cover for this week."""
    filled = {
        "covered_by": str(person.pk),
        "from_on": today.isoformat(),
        "until_on": (today + timedelta(days=6)).isoformat(),
        "reason": "Leave",
        "form_key": str(uuid.uuid4()),
    }
    return {**filled, **changes}


# Cover


def test_a_colleague_covers_a_case_and_may_then_write_in_it(
    case: Episode, colleague: User, signed_in: Any, today: date
) -> None:
    """Refused before, let in after: through the case's own page."""
    client = signed_in(colleague)
    assert client.get(f"/cases/{case.pk}/contacts/new/").status_code == 403
    path = f"/cases/{case.pk}/cover/"
    assert client.post(path, cover_form(colleague, today)).url == f"/cases/{case.pk}/"
    assert client.get(f"/cases/{case.pk}/contacts/new/").status_code == 200


def test_a_colleague_cannot_put_in_somebody_else(
    case: Episode, colleague: User, lead: User, signed_in: Any, today: date
) -> None:
    """Only those who answer for the case do that."""
    path = f"/cases/{case.pk}/cover/"
    answer = signed_in(colleague).post(path, cover_form(lead, today))
    assert answer.status_code == 422
    assert not Cover.objects.exists()


@pytest.mark.parametrize("who", ["clinician", "lead"])
def test_those_who_answer_for_a_case_arrange_cover(
    case: Episode,
    colleague: User,
    signed_in: Any,
    today: date,
    who: str,
    request: pytest.FixtureRequest,
) -> None:
    """The case's clinician and the lead put in a colleague."""
    by = request.getfixturevalue(who)
    answer = signed_in(by).post(
        f"/cases/{case.pk}/cover/", cover_form(colleague, today)
    )
    assert answer.status_code == 302
    cover = Cover.objects.get()
    assert (cover.covered_by, cover.arranged_by) == (colleague, by)


def test_cover_goes_to_people_who_treat_here(
    case: Episode,
    clinician: User,
    stranger: User,
    administrator: User,
    signed_in: Any,
    today: date,
) -> None:
    """Not to another site, not to an administrator, not to the clinician."""
    for person in (stranger, administrator, clinician):
        answer = signed_in(clinician).post(
            f"/cases/{case.pk}/cover/", cover_form(person, today)
        )
        assert answer.status_code == 422, person


@pytest.mark.parametrize(
    ("from_days", "until_days", "sentence"),
    [
        (0, -1, "This day is over"),
        (5, 4, "end before it begins"),
        (0, 26 * 7 + 1, "Cover reaches at most 26 weeks ahead"),
    ],
)
def test_the_days_of_cover_make_sense(
    case: Episode,
    clinician: User,
    colleague: User,
    signed_in: Any,
    today: date,
    from_days: int,
    until_days: int,
    sentence: str,
) -> None:
    """Refused at the field."""
    days = {
        "from_on": (today + timedelta(days=from_days)).isoformat(),
        "until_on": (today + timedelta(days=until_days)).isoformat(),
    }
    answer = signed_in(clinician).post(
        f"/cases/{case.pk}/cover/", cover_form(colleague, today, **days)
    )
    assert answer.status_code == 422
    assert sentence in words(answer)


def test_the_same_cover_is_not_arranged_twice(
    case: Episode, clinician: User, colleague: User, signed_in: Any, today: date
) -> None:
    """A repeat of the form changes nothing, a second form is refused."""
    client, path = signed_in(clinician), f"/cases/{case.pk}/cover/"
    filled = cover_form(colleague, today)
    for _ in range(2):
        assert client.post(path, filled).status_code == 302
    answer = client.post(path, cover_form(colleague, today))
    assert "covers this case already" in words(answer)
    assert Cover.objects.count() == 1


def test_the_one_who_covers_ends_it(
    case: Episode, clinician: User, colleague: User, signed_in: Any, today: date
) -> None:
    """From the page of the case; a second tap changes nothing."""
    cover = cover_case(
        case,
        by=clinician,
        covered_by=colleague,
        from_on=today,
        until_on=today,
        reason="x",
    )
    client, path = signed_in(colleague), f"/covers/{cover.pk}/end/"
    assert path in words(client.get(f"/cases/{case.pk}/cover/"))
    for _ in range(2):
        assert client.post(path).url == f"/cases/{case.pk}/"
    cover.refresh_from_db()
    assert cover.ended_at is not None
    assert client.get(f"/cases/{case.pk}/contacts/new/").status_code == 403


# Hand over


def test_a_case_is_handed_over(
    case: Episode, clinician: User, colleague: User, signed_in: Any
) -> None:
    """From then on the old clinician can read it and no more."""
    client, path = signed_in(clinician), f"/cases/{case.pk}/hand-over/"
    sent = {"to": str(colleague.pk), "reason": "Moved to evenings", "version": "1"}
    assert client.post(path, sent).url == f"/cases/{case.pk}/"
    case.refresh_from_db()
    assert case.clinician == colleague
    assert client.get(path).status_code == 403
    assert client.get(f"/cases/{case.pk}/").status_code == 200


def test_cover_does_not_hand_a_case_over(
    case: Episode, clinician: User, colleague: User, signed_in: Any, today: date
) -> None:
    """A case cannot be taken by covering it."""
    cover_case(
        case,
        by=clinician,
        covered_by=colleague,
        from_on=today,
        until_on=today,
        reason="x",
    )
    answer = signed_in(colleague).get(f"/cases/{case.pk}/hand-over/")
    assert answer.status_code == 403


def test_a_hand_over_of_a_changed_case_asks_to_look_again(
    case: Episode, clinician: User, colleague: User, signed_in: Any
) -> None:
    """Somebody else may have handed it over meanwhile."""
    change_episode(case, by=clinician, version=1, changes={"sport": "rowing"})
    sent = {"to": str(colleague.pk), "reason": "Leave", "version": "1"}
    answer = signed_in(clinician).post(f"/cases/{case.pk}/hand-over/", sent)
    assert answer.status_code == 409
    assert answer.context["version"] == 2
    assert 'value="Leave"' in words(answer)
    case.refresh_from_db()
    assert case.clinician == clinician


# Contact log


def contact(**changes: str) -> dict[str, str]:
    """Return a filled contact attempt."""
    filled = {
        "tried_on": "2026-06-01",
        "way": "call",
        "result": "no answer",
        "note": "",
        "form_key": str(uuid.uuid4()),
    }
    return {**filled, **changes}


def test_a_try_to_reach_the_patient_is_logged(
    case: Episode, clinician: User, signed_in: Any
) -> None:
    """When, how, what came of it; a double tap logs one."""
    client, path = signed_in(clinician), f"/cases/{case.pk}/contacts/new/"
    filled = contact()
    for _ in range(2):
        assert client.post(path, filled).url == f"/cases/{case.pk}/"
    attempt = ContactAttempt.objects.get()
    assert (attempt.way, attempt.result, attempt.by) == (
        "call",
        "no answer",
        clinician,
    )
    assert "No answer" in words(client.get(path)).replace("no answer", "No answer")


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("tried_on", "2026-06-02", "still to come"),
        ("tried_on", "2026-01-04", "not open yet"),
        ("way", "", "required"),
        ("result", "shouted", "Choose one of these"),
    ],
)
def test_a_try_that_cannot_be_is_refused(
    case: Episode,
    clinician: User,
    signed_in: Any,
    field: str,
    value: str,
    sentence: str,
) -> None:
    """With a sentence at the field."""
    answer = signed_in(clinician).post(
        f"/cases/{case.pk}/contacts/new/", contact(**{field: value})
    )
    assert answer.status_code == 422
    assert sentence in words(answer)


def test_the_log_does_not_ask_row_by_row(
    case: Episode, clinician: User, signed_in: Any, query_count: Any
) -> None:
    """A long log is as quick as a short one."""
    client, path = signed_in(clinician), f"/cases/{case.pk}/contacts/new/"
    client.post(path, contact())
    client.get(path)
    few = query_count(client, path)
    for _ in range(5):
        client.post(path, contact())
    client.get(path)
    assert query_count(client, path) == few


# The screen


def answers(*yes: str, **more: str) -> dict[str, str]:
    """Return a full screen in which the named concerns are answered with yes."""
    asked = questions("full", age=30)
    given = {f"screen-{c.key}": "yes" if c.key in yes else "no" for c in asked}
    return {**given, "form_key": str(uuid.uuid4()), **more}


def test_the_full_screen_can_be_asked_at_any_time(
    case: Episode, clinician: User, signed_in: Any
) -> None:
    """It is a screen of the case, not of a visit."""
    answer = signed_in(clinician).post(f"/cases/{case.pk}/screen/", answers())
    assert answer.url == f"/cases/{case.pk}/"
    screen = Screen.objects.get()
    assert (screen.form, screen.visit, screen.is_positive) == ("full", None, False)


def test_a_yes_shows_its_route_and_asks_for_a_decision(
    case: Episode, clinician: User, signed_in: Any
) -> None:
    """The caution names what to do, and the x-ray rule where it belongs."""
    client = signed_in(clinician)
    answer = client.post(f"/cases/{case.pk}/screen/", answers("injury", "clot"))
    page = words(client.get(answer.url))
    assert "emergency care" in page
    assert "Same-day medical assessment" in page
    assert "aged 55 or over" in page
    assert "Rheumatology referral" not in page


def test_every_route_stands_beside_its_question(
    case: Episode, clinician: User, signed_in: Any
) -> None:
    """Without script and before saving."""
    page = words(signed_in(clinician).get(f"/cases/{case.pk}/screen/"))
    assert page.count("If yes:") == 11
    assert "it diagnoses nothing" in page


def positive(case: Episode, by: User) -> Screen:
    """Answer one question with yes."""
    return answer_screen(
        episode=case, by=by, form="full", answers={"tumour": True}, on=case.opened_on
    )


def test_a_decision_is_kept_in_words(
    case: Episode, clinician: User, signed_in: Any
) -> None:
    """Blanks are no words."""
    screen = positive(case, clinician)
    client, path = signed_in(clinician), f"/screens/{screen.pk}/decide/"
    assert client.post(path, {"decision": "  "}).status_code == 422
    answer = client.post(path, {"decision": "Sent to the urgent route."})
    assert answer.url == f"/cases/{case.pk}/"
    screen.refresh_from_db()
    assert screen.decision == "Sent to the urgent route."
    assert screen.decided_by == clinician


def test_a_decision_is_not_replaced(
    case: Episode, clinician: User, lead: User, signed_in: Any
) -> None:
    """The second of two people sees what the first decided."""
    screen = positive(case, clinician)
    decide(screen, by=clinician, decision="Sent to the urgent route.")
    client, path = signed_in(lead), f"/screens/{screen.pk}/decide/"
    assert "Sent to the urgent route." in words(client.get(path))
    assert client.post(path, {"decision": "Nothing."}).status_code == 302
    screen.refresh_from_db()
    assert screen.decision == "Sent to the urgent route."


def test_there_is_nothing_to_decide_without_a_yes(
    case: Episode, clinician: User, signed_in: Any
) -> None:
    """The address of a negative screen does not exist."""
    screen = answer_screen(
        episode=case, by=clinician, form="full", answers={"tumour": False}, on=date.max
    )
    answer = signed_in(clinician).get(f"/screens/{screen.pk}/decide/")
    assert answer.status_code == 404


def test_a_browser_that_resends_changed_answers_is_told(
    case: Episode, clinician: User, signed_in: Any
) -> None:
    """One form key stands for one content."""
    client, path = signed_in(clinician), f"/cases/{case.pk}/screen/"
    first = answers()
    client.post(path, first)
    again: Client = client
    answer = again.post(path, first | {"screen-clot": "yes"})
    assert answer.status_code == 422
    assert Screen.objects.count() == 1
