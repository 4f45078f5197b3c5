"""The next step on the case page and on the programme page, and its answers."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client

from clinic import screening
from clinic.models import Episode, Screen, User
from clinic.submissions import new_form_key
from outcomes.session_recording import SessionEntry
from programs.models import Prescription, SuggestionChoice
from programs.next_steps import find_step
from tests.factories import make_episode, make_visit
from tests.programs.plans import make_line, make_programme, squat_line

WEEK = timedelta(weeks=1)
SignIn = Callable[..., Client]


@pytest.fixture(autouse=True)
def _at_ten(clock: Any) -> None:
    """Every test of this file runs on one day."""


@pytest.fixture
def case(clinician: User, today: date) -> Episode:
    """A case five weeks in, low irritability."""
    return make_episode(by=clinician, opened_on=today - 5 * WEEK, irritability="low")


@pytest.fixture
def line(case: Episode, today: date) -> Prescription:
    """Two calm visits with the target beaten: 12 kg can become 13."""
    programme = make_programme(case, on=today - 4 * WEEK)
    dose = squat_line(plate_step_kg=0.5)
    made = make_line(programme, on=today - 4 * WEEK, line=dose)
    for on in (today - WEEK, today):
        entry = SessionEntry(
            prescription=made,
            sessions_done=3,
            sets_done=3,
            repetitions_over=2,
            pain_during=1,
        )
        make_visit(
            episode=case,
            on=on,
            pain={"usual": 2},
            next_morning="settled",
            session_logs=(entry,),
        )
    return made


@pytest.fixture
def client(signed_in: SignIn, clinician: User) -> Client:
    """The clinician's browser."""
    return signed_in(clinician)


def page(client: Client, case: Episode) -> str:
    """Return the case page."""
    return client.get(f"/cases/{case.pk}/").content.decode()


def answer(
    client: Client, line: Prescription, token: str, answer: str = "accept", **more: str
) -> Any:
    """Send an answer as a browser does."""
    sent = {"form_key": new_form_key(), "answer": answer, "shown": token, **more}
    return client.post(f"/prescriptions/{line.pk}/suggestion/", sent, follow=True)


def token(line: Prescription, today: date) -> str:
    """Return the print of what is suggested now."""
    step = find_step(line.phase.programme.episode, line, on=today)
    assert step is not None
    return step.token


@pytest.mark.parametrize("where", ["/cases/{}/", "/cases/{}/programme/"])
def test_the_suggestion_has_its_reason_its_source_and_one_change(
    client: Client, case: Episode, line: Prescription, where: str
) -> None:
    """On the case page and on the programme page."""
    text = client.get(where.format(case.pk)).content.decode()
    assert "Next step for the programme" in text
    assert "Progress." in text
    assert "2 calm sessions in a row, and the target beaten in each." in text
    assert "Raise the load from 12 to 13 kg, 8.3 per cent." in text
    assert "Ratamess" in text
    assert "The clinician decides; local rules apply." in text


def test_one_tap_accepts(
    client: Client, case: Episode, line: Prescription, today: date, clinician: User
) -> None:
    """The line is changed, the reason stands with it, and it is not asked again."""
    response = answer(client, line, token(line, today))
    assert "Raise the load from 12 to 13 kg" in response.content.decode()
    made = Prescription.objects.get(replaces=line)
    assert (made.load_kg, made.starts_on) == (13.0, today)
    choice = SuggestionChoice.objects.get()
    assert (choice.choice, choice.leads_to, choice.chosen_by) == (
        "accepted",
        made,
        clinician,
    )
    text = page(client, case)
    assert "No session at the present dose is logged yet" in text
    assert 'value="accept"' not in text
    past = client.get(f"/cases/{case.pk}/programme/").content.decode()
    assert "Suggested 1 Jun 2026: 2 calm sessions" in past


def test_declining_keeps_the_words(
    client: Client, case: Episode, line: Prescription, today: date
) -> None:
    """The line stays; the answer is read where the suggestion was."""
    answer(client, line, token(line, today), "decline", words="Race on Sunday")
    assert not Prescription.objects.filter(replaces=line).exists()
    text = page(client, case)
    assert "Declined on 1 Jun 2026" in text and "Race on Sunday" in text
    assert 'value="accept"' not in text


def test_the_same_form_twice_is_one_answer(
    client: Client, line: Prescription, today: date
) -> None:
    """A double tap."""
    sent = {
        "form_key": new_form_key(),
        "answer": "accept",
        "shown": token(line, today),
    }
    for _ in range(2):
        path = f"/prescriptions/{line.pk}/suggestion/"
        assert client.post(path, sent).status_code == 302
    assert SuggestionChoice.objects.count() == 1
    assert Prescription.objects.filter(replaces=line).count() == 1


@pytest.mark.parametrize("shown", ["", "0123456789abcdef", "x" * 40])
def test_a_crafted_answer_cannot_accept_what_is_not_suggested(
    client: Client, line: Prescription, shown: str
) -> None:
    """What is suggested is worked out by the server, and only that is taken."""
    response = answer(client, line, shown, load_kg="200", sets="9")
    assert "Not done:" in response.content.decode()
    assert not SuggestionChoice.objects.exists()
    assert not Prescription.objects.filter(replaces=line).exists()


def test_a_suggestion_that_changed_meanwhile_is_not_taken(
    client: Client, line: Prescription, today: date
) -> None:
    """The visit was corrected after the page was opened."""
    seen = token(line, today)
    line.session_logs.filter(visit__visited_on=today).update(pain_during=8)
    response = answer(client, line, seen)
    assert "Look at it again" in response.content.decode()
    assert not Prescription.objects.filter(replaces=line).exists()


def test_nothing_is_taken_past_an_undecided_red_flag(
    client: Client, case: Episode, line: Prescription, today: date, clinician: User
) -> None:
    """The page gives the reason instead, and an old form is refused."""
    seen = token(line, today)
    screening.answer_screen(
        episode=case,
        by=clinician,
        form=Screen.Form.FULL,
        answers={"clot": True},
        on=today,
    )
    text = page(client, case)
    assert "Nothing is suggested." in text
    assert "waiting for a decision" in text
    assert "Raise the load" not in text
    answer(client, line, seen)
    assert not Prescription.objects.filter(replaces=line).exists()


def test_changing_it_by_hand_starts_from_the_suggestion(
    client: Client, case: Episode, line: Prescription, today: date
) -> None:
    """The form is filled in; the choice is kept as edited with the new line."""
    path = f"/prescriptions/{line.pk}/change/?suggestion={token(line, today)}"
    assert path.split("?")[1] in page(client, case)
    form = client.get(path).context["form"]
    assert form["load_kg"].value() == 13.0
    assert form["why"].value().startswith("Suggested: 2 calm sessions")
    sent = {name: form[name].value() for name in form.fields}
    sent = {name: "" if value is None else value for name, value in sent.items()}
    sent |= {"form_key": new_form_key(), "exercise": line.exercise}
    sent |= {"load_kg": "12.5", "why": "A smaller step"}
    response = client.post(path, sent)
    assert response.status_code == 302, response.context["form"].errors
    choice = SuggestionChoice.objects.get()
    assert choice.choice == "edited"
    assert choice.leads_to and choice.leads_to.load_kg == 12.5


def test_a_colleague_reads_it_without_buttons(
    signed_in: SignIn, colleague: User, case: Episode, line: Prescription
) -> None:
    """Until they take cover."""
    text = page(signed_in(colleague), case)
    assert "Raise the load from 12 to 13 kg" in text
    assert (
        "prescriptions/" not in text.split('id="next-step"')[1].split("</section>")[0]
    )


def test_a_discharged_case_gets_no_next_step(
    client: Client, case: Episode, line: Prescription, today: date, clinician: User
) -> None:
    """Care is over."""
    Episode.objects.filter(pk=case.pk).update(
        discharged_on=today, discharge_reason="goals met"
    )
    assert "Next step for the programme" not in page(client, case)


def test_the_case_page_costs_no_more_for_more_lines(
    client: Client,
    case: Episode,
    line: Prescription,
    today: date,
    query_count: Callable[[Client, str], int],
) -> None:
    """Lines, logs, other care: a fixed number of queries."""
    few = query_count(client, f"/cases/{case.pk}/")
    for _ in range(4):
        make_line(line.phase.programme, on=today - 2 * WEEK)
    assert query_count(client, f"/cases/{case.pk}/") == few
