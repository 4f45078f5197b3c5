"""What was tried in a stalled case, what was not, and limits that have run out."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client

from clinic.models import Episode, User
from outcomes.models import CaseReview
from outcomes.session_recording import SessionEntry
from outcomes.time_limits import overdue_adjuncts
from outcomes.tried import WhatWasTried, read_tried
from programs import library
from programs.course import read_course
from programs.guideline import guideline_options, untried
from programs.lines import Line
from programs.models import Prescription
from programs.prescribing import change_prescription, stop_prescription
from tests.factories import make_akps, make_episode, make_visit
from tests.programs.plans import make_line, make_programme, squat_line

WEEK = timedelta(weeks=1)
HIP = library.ladder("hip_extension")[0].key
TAPE = Line(exercise="taping_tailored")
SignIn = Callable[..., Client]


@pytest.fixture(autouse=True)
def _at_ten(clock: Any) -> None:
    """Every test of this file runs on one day."""


@pytest.fixture
def case(clinician: User, today: date) -> Episode:
    """Stalled: 62 to 66 in thirteen weeks, worst pain 6 to 5."""
    made = make_episode(by=clinician, opened_on=today - 13 * WEEK)
    for week, total, worst in ((0, 62, 6), (3, 63, 6), (6, 64, 6), (9, 65, 5)):
        on = made.opened_on + week * WEEK
        make_visit(episode=made, on=on, pain={"worst": worst})
        make_akps(episode=made, on=on, total=total)
    make_visit(episode=made, on=today - WEEK, pain={"worst": 5})
    make_akps(episode=made, on=today - WEEK, total=66)
    return made


@pytest.fixture
def line(case: Episode, today: date) -> Prescription:
    """Three sets of ten at 12 kg, three times a week, from the first day."""
    return make_line(make_programme(case, on=case.opened_on), on=case.opened_on)


def tell(line: Prescription, on: date, done: int) -> None:
    """Add the sessions of a line to the visit of a day."""
    entry = SessionEntry(prescription=line, sessions_done=done)
    make_visit(episode=line.phase.programme.episode, on=on, session_logs=(entry,))


def only(found: WhatWasTried) -> Any:
    """Return the one thing that was tried."""
    (one,) = found.tried
    return one


def test_it_says_what_ran_how_long_and_what_happened_meanwhile(
    case: Episode, line: Prescription, today: date
) -> None:
    """Described, never claimed."""
    one = only(read_tried(case, on=today))
    assert (one.from_on, one.until_on, one.is_running) == (case.opened_on, today, True)
    assert one.doses == ("3 sets of 10, 12 kg, 3 a week, treated side",)
    assert one.meanwhile == "AKPS 62 to 66, worst pain 6 to 5"


def test_changes_of_dose_are_one_row_with_every_dose(
    case: Episode, line: Prescription, today: date
) -> None:
    """Until it was stopped, with the scores of that time."""
    by, opened = case.clinician, case.opened_on
    heavier = squat_line(load_kg=14.0)
    made = change_prescription(
        line, by=by, line=heavier, on=opened + 4 * WEEK, why="Calm"
    )
    stop_prescription(made, by=by, on=opened + 7 * WEEK, why="Sore")
    one = only(read_tried(case, on=today))
    assert [dose.split(", ")[1] for dose in one.doses] == ["12 kg", "14 kg"]
    assert (one.until_on, one.is_running) == (opened + 7 * WEEK, False)
    assert one.meanwhile == "AKPS 62 to 64, worst pain 6 to 6"


def test_adherence_counts_up_to_the_last_visit_that_told(
    case: Episode, line: Prescription, today: date
) -> None:
    """Two weeks at three a week are six planned, of which five were done."""
    tell(line, case.opened_on + WEEK, 2)
    tell(line, case.opened_on + 2 * WEEK, 3)
    assert only(read_tried(case, on=today)).adherence == (
        "5 of 6 planned sessions done"
    )


def test_without_logs_nothing_is_said_of_adherence(
    case: Episode, line: Prescription, today: date
) -> None:
    """Not asked is not missed."""
    assert only(read_tried(case, on=today)).adherence == "no sessions logged"


def test_one_score_is_no_course(case: Episode, today: date) -> None:
    """A line that began after the last score but one."""
    programme = make_programme(case, on=today - 2 * WEEK)
    make_line(programme, on=today)
    assert only(read_tried(case, on=today)).meanwhile == (
        "AKPS 66 only, worst pain 5 only"
    )


def test_the_case_page_and_the_review_page_show_it(
    case: Episode, line: Prescription, signed_in: SignIn, clinician: User
) -> None:
    """With the options that no line covers, each with its statement."""
    client = signed_in(clinician)
    for path in (f"/cases/{case.pk}/", f"/cases/{case.pk}/review/"):
        text = client.get(path).content.decode()
        assert "What has been tried" in text
        assert "AKPS 62 to 66, worst pain 6 to 5" in text
        assert "Options of the guideline that no line of this case covers" in text
        assert "Prefabricated foot orthoses, up to 6 weeks" in text
        assert "Guideline grade A" in text
        assert "they do not say what caused it" in text


def test_a_case_that_moves_shows_none_of_it(
    clinician: User, today: date, signed_in: SignIn
) -> None:
    """The section answers a question that only a stalled case asks."""
    case = make_episode(by=clinician, opened_on=today - WEEK)
    make_line(make_programme(case, on=today - WEEK), on=today - WEEK)
    text = signed_in(clinician).get(f"/cases/{case.pk}/").content.decode()
    assert "What has been tried" not in text


# Options of the guideline


def test_every_option_has_its_source_and_statements() -> None:
    """One list, read once; each option covers groups that exist."""
    options = guideline_options()
    assert len(options) >= 6
    assert len({one.key for one in options}) == len(options)
    for one in options:
        assert one.evidence and one.source.citation and one.mark


@pytest.mark.parametrize(
    ("exercises", "covered"),
    [
        ((), set()),
        (("squat_half",), set()),
        (("squat_half", HIP), {"hip_and_knee"}),
        (("taping_tailored",), {"taping"}),
        (("taping_tailored", "squat_half"), {"taping", "combined"}),
        (("bfr_knee_extension",), {"flow_restriction"}),
        (("no_such_entry",), set()),
    ],
)
def test_what_covers_an_option(exercises: tuple[str, ...], covered: set[str]) -> None:
    """Hip and knee together need one of each; combined care needs exercise."""
    left = {one.key for one in untried(exercises)}
    assert {one.key for one in guideline_options()} - left == covered


# Time limits


def overdue(case: Episode, on: date) -> list[str]:
    """Return the reminders of a case."""
    reviews = list(case.reviews.all())
    return list(overdue_adjuncts(read_course(case), reviews, on=on))


@pytest.mark.parametrize(("weeks", "is_due"), [(3, False), (4, True), (5, True)])
def test_tape_past_four_weeks_is_reminded_of(
    case: Episode, today: date, weeks: int, is_due: bool
) -> None:
    """Counted from the first day of the line (Willy 2019)."""
    began = today - weeks * WEEK
    make_line(make_programme(case, on=began), on=began, line=TAPE)
    found = overdue(case, today)
    assert bool(found) is is_due
    if is_due:
        assert f"has run {weeks} weeks; guidance sets 4 " in found[0]
        assert found[0].endswith("review or stop.")


def test_orthoses_have_six_weeks(case: Episode, today: date) -> None:
    """The library's limit, not one for all."""
    began = today - 5 * WEEK
    orthoses = Line(exercise="orthoses_prefabricated")
    make_line(make_programme(case, on=began), on=began, line=orthoses)
    assert overdue(case, today) == []
    assert "guidance sets 6" in overdue(case, today + WEEK)[0]


def test_stopping_or_a_review_quiets_it(
    case: Episode, today: date, clinician: User
) -> None:
    """A review until its day to look again; stopping for good."""
    began = today - 5 * WEEK
    tape = make_line(make_programme(case, on=began), on=began, line=TAPE)
    CaseReview.objects.create(
        site=case.site,
        episode=case,
        reviewed_on=today,
        decision="continue",
        why="It still helps on stairs",
        look_again_on=today + WEEK,
        findings=[],
        by=clinician,
    )
    assert overdue(case, today) == []
    assert overdue(case, today + WEEK)
    stop_prescription(tape, by=clinician, on=today, why="Time is over")
    assert overdue(case, today + WEEK) == []


def test_the_reminder_stands_in_the_margin(
    case: Episode, today: date, signed_in: SignIn, clinician: User
) -> None:
    """Of the case page."""
    began = today - 5 * WEEK
    make_line(make_programme(case, on=began), on=began, line=TAPE)
    text = signed_in(clinician).get(f"/cases/{case.pk}/").content.decode()
    margin = text.split("<aside")[-1].split("</aside>")[0]
    assert "has run 5 weeks; guidance sets 4" in margin
