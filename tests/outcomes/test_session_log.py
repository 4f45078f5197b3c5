"""The programme since last time: each line told in the visit form, in one save."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client

from clinic.models import AuditEvent, Episode, User, Visit
from outcomes.session_recording import SessionEntry
from programs.models import Prescription, Programme, SessionLog
from programs.prescribing import change_prescription
from tests.factories import make_screened_episode, make_visit
from tests.programs.plans import make_line, make_programme, squat_line

from .visit_pages import attended, log_url

WEEK = timedelta(weeks=1)


@pytest.fixture(autouse=True)
def _at_ten(clock: Any) -> None:
    """Every test of this file runs on one day."""


@pytest.fixture
def episode(clinician: User, today: date) -> Episode:
    """A case five weeks in, last seen two weeks ago."""
    made = make_screened_episode(by=clinician, opened_on=today - 5 * WEEK)
    make_visit(episode=made, on=today - 2 * WEEK)
    return made


@pytest.fixture
def programme(episode: Episode, today: date) -> Programme:
    """A programme since four weeks."""
    return make_programme(episode, on=today - 4 * WEEK)


@pytest.fixture
def line(programme: Programme, today: date) -> Prescription:
    """Three sets of ten at 12 kg, three times a week."""
    return make_line(programme, on=today - 4 * WEEK)


@pytest.fixture
def client(signed_in: Callable[..., Client], clinician: User) -> Client:
    """The clinician's browser."""
    return signed_in(clinician)


def told(line: Prescription, **fields: Any) -> dict[str, Any]:
    """Return the fields of one line as a browser sends them."""
    given = {f"line-{line.pk}-{name}": value for name, value in fields.items()}
    return {"lines": [str(line.pk)], **given}


def kept(line: Prescription) -> tuple[Any, ...]:
    """Return what is stored of a line."""
    log = SessionLog.objects.get(prescription=line)
    return (
        log.sessions_done,
        log.sets_done,
        log.repetitions_over,
        log.pain_during,
        log.is_stopped_by_pain,
    )


def test_the_form_asks_about_each_running_line(
    client: Client, episode: Episode, line: Prescription
) -> None:
    """In words, with what was prescribed since the last visit, and no default."""
    page = client.get(log_url(episode)).content.decode()
    assert "The programme since last time" in page
    assert "3 sets of 10, 12 kg, 3 a week" in page
    assert "6 planned" in page and "3 prescribed" in page
    part = page.split('id="visit-programme"')[1].split("</section>")[0]
    assert part.count('type="radio"') == 4 + 11
    assert "checked" not in part


def test_without_a_programme_nothing_is_asked(client: Client, episode: Episode) -> None:
    """No empty section."""
    assert b"since last time" not in client.get(log_url(episode)).content


def test_one_save_keeps_what_was_done(
    client: Client, episode: Episode, line: Prescription, today: date
) -> None:
    """Beside everything else of the visit, with its site."""
    sent = told(
        line,
        sessions_done="5",
        sets_done="3",
        repetitions_over="2",
        pain_during="0",
        is_stopped_by_pain="on",
    )
    response = client.post(log_url(episode), attended(today, **sent))
    assert response.status_code == 302
    assert kept(line) == (5, 3, 2, 0, True)
    assert SessionLog.objects.get().site_id == episode.site_id


def test_several_lines_are_kept_in_one_save_each_its_own(
    client: Client,
    episode: Episode,
    programme: Programme,
    line: Prescription,
    today: date,
) -> None:
    """And changed later, one of them cleared."""
    second, third = (make_line(programme, on=today - 3 * WEEK) for _ in range(2))
    sent = told(line, sessions_done="1") | told(second, sessions_done="2")
    sent |= told(third, sessions_done="3")
    sent["lines"] = [str(one.pk) for one in (line, second, third)]
    client.post(log_url(episode), attended(today, **sent))
    assert [kept(one)[0] for one in (line, second, third)] == [1, 2, 3]
    visit = Visit.objects.get(visited_on=today)
    sent |= told(second, sessions_done="") | {"lines": sent["lines"], "version": "1"}
    response = client.post(f"/visits/{visit.pk}/", attended(today, **sent))
    assert response.status_code == 302
    assert [kept(one)[0] for one in (line, second, third)] == [1, None, 3]
    assert SessionLog.objects.count() == 3


def test_a_line_of_which_nothing_is_told_keeps_nothing(
    client: Client, episode: Episode, line: Prescription, today: date
) -> None:
    """Everything is optional."""
    client.post(log_url(episode), attended(today, **told(line, sessions_done="")))
    assert Visit.objects.filter(visited_on=today).exists()
    assert not SessionLog.objects.exists()


@pytest.mark.parametrize(
    ("field", "value", "reason"),
    [
        ("sessions_done", "-1", "whole number from 0 to 99"),
        ("sessions_done", "2.5", "whole number from 0 to 99"),
        ("sets_done", "21", "whole number from 0 to 20"),
        ("pain_during", "11", "whole number from 0 to 10"),
        ("repetitions_over", "7", "Choose one of these"),
    ],
)
def test_what_cannot_be_is_refused_with_its_reason(
    client: Client,
    episode: Episode,
    line: Prescription,
    today: date,
    field: str,
    value: str,
    reason: str,
) -> None:
    """The summary names the exercise; the line stands open; nothing is saved."""
    sent = attended(today, **told(line, **{field: value}))
    response = client.post(log_url(episode), sent)
    page = response.content.decode()
    assert response.status_code == 422
    assert reason in page
    problem = response.context["problems"][0]
    assert problem.label.startswith(response.context["sheet"].programme.lines[0].name)
    assert '<details name="programme-line" open>' in page
    assert not SessionLog.objects.exists()


def test_as_planned_without_a_script_fills_sessions_and_sets_never_pain(
    client: Client, episode: Episode, line: Prescription, today: date
) -> None:
    """The form comes back with the rest of the typing; nothing is saved."""
    sent = attended(today, note="Kept", as_planned=str(line.pk), **told(line))
    response = client.post(log_url(episode), sent)
    form = response.context["sheet"].programme.lines[0].form
    assert response.status_code == 200
    assert (form["sessions_done"].value(), form["sets_done"].value()) == ("6", "3")
    assert form["pain_during"].value() is None
    assert "Kept" in response.content.decode()
    assert not SessionLog.objects.exists()


@pytest.mark.parametrize("attendance", ["did_not_attend", "cancelled"])
def test_an_appointment_that_did_not_happen_has_no_sessions(
    client: Client, episode: Episode, line: Prescription, today: date, attendance: str
) -> None:
    """It is refused with what to clear, not dropped."""
    sent = attended(today, attendance=attendance, **told(line, sessions_done="2"))
    response = client.post(log_url(episode), sent)
    assert response.status_code == 422
    assert "what was done of" in response.content.decode()


def test_the_case_page_tells_what_was_done_at_each_visit(
    client: Client, episode: Episode, line: Prescription, today: date
) -> None:
    """In words; what was not told is left out."""
    entry = SessionEntry(
        prescription=line, sessions_done=1, repetitions_over=-1, pain_during=0
    )
    make_visit(episode=episode, on=today, session_logs=(entry,))
    page = client.get(f"/cases/{episode.pk}/").content.decode()
    assert ": 1 session, fewer repetitions than asked, pain 0</li>" in page


def test_a_change_is_prefilled_kept_and_on_record(
    client: Client, episode: Episode, line: Prescription, today: date
) -> None:
    """What is cleared is emptied; the record has before and after."""
    entry = SessionEntry(prescription=line, sessions_done=4, pain_during=3)
    visit = make_visit(episode=episode, on=today, session_logs=(entry,))
    path = f"/visits/{visit.pk}/"
    form = client.get(path).context["sheet"].programme.lines[0].form
    assert form["sessions_done"].value() == 4
    assert form["pain_during"].value() == 3
    sent = {**told(line, sessions_done="", pain_during="5"), "version": "1"}
    assert client.post(path, attended(today, **sent)).status_code == 302
    assert kept(line) == (None, None, None, 5, False)
    detail = AuditEvent.objects.filter(action="visit.changed").get().detail
    key = str(line.pk)
    assert detail["before"]["session_logs"][key]["sessions_done"] == 4
    assert detail["after"]["session_logs"][key]["pain_during"] == 5


def test_a_concurrent_change_is_shown(
    client: Client, episode: Episode, line: Prescription, today: date
) -> None:
    """Stored now beside what was typed, by the name of the exercise."""
    entry = SessionEntry(prescription=line, sessions_done=4, repetitions_over=2)
    visit = make_visit(episode=episode, on=today, session_logs=(entry,))
    Visit.objects.filter(pk=visit.pk).update(version=2)
    sent = told(line, sessions_done="6", repetitions_over="2")
    response = client.post(f"/visits/{visit.pk}/", attended(today, **sent, version="1"))
    assert response.status_code == 409
    shown = {row.label: row for row in response.context["differences"]}
    label = next(label for label in shown if label.endswith("Sessions done"))
    assert (shown[label].stored, shown[label].typed) == ("4", "6")
    assert not any("Repetitions" in label for label in shown)


def test_the_same_form_twice_is_one_log(
    client: Client, episode: Episode, line: Prescription, today: date
) -> None:
    """A double tap."""
    sent = attended(today, **told(line, sessions_done="5"))
    for _ in range(2):
        assert client.post(log_url(episode), sent).status_code == 302
    assert SessionLog.objects.count() == 1


def test_a_line_of_another_case_is_refused(
    client: Client,
    clinician: User,
    episode: Episode,
    line: Prescription,
    today: date,
) -> None:
    """A crafted form changes nothing elsewhere."""
    other = make_screened_episode(by=clinician, opened_on=today - 5 * WEEK)
    theirs = make_line(make_programme(other, on=today - 4 * WEEK), on=today - 4 * WEEK)
    sent = attended(today, **told(theirs, sessions_done="5"))
    response = client.post(log_url(episode), sent)
    assert response.status_code == 422
    assert "no longer part of the programme" in response.content.decode()
    assert not SessionLog.objects.exists()


def test_a_line_changed_on_the_day_is_told_of_as_it_was(
    client: Client, episode: Episode, line: Prescription, today: date, clinician: User
) -> None:
    """The new dose has had no session yet."""
    heavier = squat_line(load_kg=14.0)
    change_prescription(line, by=clinician, line=heavier, on=today, why="Easy now")
    shown = client.get(log_url(episode)).context["sheet"].programme.lines
    assert [one.row.pk for one in shown] == [line.pk]


def test_a_visit_before_the_line_began_cannot_tell_of_it(
    client: Client, episode: Episode, line: Prescription, today: date
) -> None:
    """The day was changed after the line was told of."""
    before = line.starts_on - timedelta(days=1)
    response = client.post(
        log_url(episode), attended(before, **told(line, sessions_done="1"))
    )
    assert response.status_code == 422
    assert "after the visit" in response.content.decode()


def test_a_long_programme_costs_no_more_queries(
    client: Client,
    episode: Episode,
    programme: Programme,
    line: Prescription,
    today: date,
    query_count: Callable[[Client, str], int],
) -> None:
    """One line or five."""
    few = query_count(client, log_url(episode))
    for _ in range(4):
        make_line(programme, on=today - 3 * WEEK)
    assert query_count(client, log_url(episode)) == few
