"""The programme under the course of scores: one axis, every change, words beside it."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client

from clinic.models import Episode, User
from clinic.templatetags.clinic_format import day
from outcomes.models import CaseReview
from outcomes.programme_panel import programme_panel, read_beside
from outcomes.science.programme_chart import Bar, Lane, Mark, programme_figure
from programs.course import read_course
from programs.lines import Line
from programs.models import Programme
from programs.planning import add_phase, change_phase, end_programme
from programs.prescribing import change_prescription, prescribe, stop_prescription
from tests.factories import make_akps, make_episode, make_event, make_other_care
from tests.programs.plans import first_phase, make_line, make_programme, squat_line

WEEK = timedelta(weeks=1)
DAY_MS = 24 * 3600 * 1000


@pytest.fixture(autouse=True)
def _at_ten(clock: Any) -> None:
    """Every test of this file runs on one day."""


@pytest.fixture
def case(clinician: User, today: date) -> Episode:
    """A case ten weeks in with two scores."""
    made = make_episode(by=clinician, opened_on=today - 10 * WEEK)
    make_akps(episode=made, on=today - 10 * WEEK, total=62)
    make_akps(episode=made, on=today - 2 * WEEK, total=66)
    return made


@pytest.fixture
def programme(case: Episode, today: date) -> Programme:
    """Two phases: five weeks, then three."""
    made = make_programme(case, on=today - 8 * WEEK, first_phase="Calm the knee")
    line = make_line(made, on=today - 8 * WEEK)
    by, mid = case.clinician, today - 3 * WEEK
    heavier = squat_line(load_kg=14.0)
    change_prescription(line, by=by, line=heavier, on=today - 6 * WEEK, why="Calm")
    change_phase(first_phase(made), by=by, on=mid, version=made.version, ends_on=mid)
    add_phase(made, by=by, title="Build strength", starts_on=mid)
    return made


def panel(case: Episode, today: date) -> Any:
    """Return the panel over the whole episode."""
    return programme_panel(
        read_course(case),
        read_beside(case),
        span=(case.opened_on, today),
        until_on=today,
    )


def traces(figure: dict[str, Any], role: str) -> list[dict[str, Any]]:
    """Return the traces of a role."""
    return [each for each in figure["data"] if each["meta"]["role"] == role]


def rows(found: Any) -> dict[str, tuple[str, str]]:
    """Return the table by what happened: its day and its words."""
    return {what: (on, words) for on, what, words in found.chart.table_rows}


def test_phases_are_bars_on_true_time(
    case: Episode, programme: Programme, today: date
) -> None:
    """The first ended after five weeks; the second runs until today."""
    figure = panel(case, today).chart.json
    (ended,), (running,) = traces(figure, "bar-third"), traces(figure, "bar")
    assert ended["base"] == [(today - 8 * WEEK).isoformat()]
    assert ended["x"] == [5 * 7 * DAY_MS]
    assert running["base"] == [(today - 3 * WEEK).isoformat()]
    assert running["x"] == [3 * 7 * DAY_MS]
    titles = [note["text"] for note in figure["layout"]["annotations"]]
    assert titles == ["Calm the knee", "Build strength"]


def test_the_axis_is_that_of_the_measures(
    case: Episode,
    programme: Programme,
    signed_in: Callable[[User], Client],
    clinician: User,
) -> None:
    """The same range, drawn right below the primary measure."""
    response = signed_in(clinician).get(f"/cases/{case.pk}/")
    page = response.context["page"]
    ranges = [
        chart.json["layout"]["xaxis"]["range"]
        for chart in (page.panels[0].chart, page.treatment.panel.chart)
    ]
    assert ranges[0] == ranges[1]
    text = response.content.decode()
    assert text.index('"chart-akps"') < text.index('"chart-programme"')


def test_every_change_is_marked_on_its_day(
    case: Episode, programme: Programme, today: date
) -> None:
    """With its reason in the table."""
    found = panel(case, today)
    (marks,) = traces(found.chart.json, "event")
    assert marks["x"] == [(today - 6 * WEEK).isoformat()]
    assert "changed" in marks["text"][0]
    (words,) = [words for what, (_, words) in rows(found).items() if "changed" in what]
    assert "12 kg" in words and "now" in words and "14 kg" in words
    assert "Why: Calm" in words


def test_a_line_that_stopped_is_marked_and_the_end_of_all_is_not_a_change(
    case: Episode, programme: Programme, today: date
) -> None:
    """Lines that end with their programme are said once."""
    by = case.clinician
    later = prescribe(
        first_phase(programme), by=by, line=squat_line(), on=today - 5 * WEEK
    )
    stop_prescription(later, by=by, on=today - 4 * WEEK, why="Sore")
    programme.refresh_from_db()
    end_programme(
        programme, by=by, on=today, why="Goals met", version=programme.version
    )
    found = panel(case, today)
    stopped = [what for what in rows(found) if "stopped" in what]
    assert len(stopped) == 1
    assert rows(found)[stopped[0]][1] == "Sore"
    assert "Goals met" in rows(found)["Programme ended"][1]


def test_other_care_and_events_carry_their_words(
    case: Episode, programme: Programme, today: date
) -> None:
    """So that a jump is not read as the programme's."""
    make_other_care(episode=case, on=today - 5 * WEEK)
    make_other_care(
        episode=case,
        on=today - 4 * WEEK,
        what="training",
        words="Half the running (invented).",
        ended_on=today - 2 * WEEK,
    )
    make_event(episode=case, on=today - WEEK)
    found = panel(case, today)
    (long,) = traces(found.chart.json, "bar-other")
    assert long["x"] == [2 * 7 * DAY_MS]
    texts = [note["text"] for note in found.chart.json["layout"]["annotations"]]
    assert "Injection: Invented injection." in texts
    assert "Adverse event: Tingling in the foot (invented)." in texts
    assert {"Injection", "Adverse event"} <= set(rows(found))


def test_other_care_stands_on_the_measures_too(
    case: Episode,
    programme: Programme,
    today: date,
    signed_in: Callable[[User], Client],
    clinician: User,
) -> None:
    """Beside decisions, on the event trace."""
    make_other_care(episode=case, on=today - 5 * WEEK)
    CaseReview.objects.create(
        site=case.site,
        episode=case,
        reviewed_on=today - WEEK,
        decision="continue",
        why="x",
        look_again_on=today,
        findings=[],
        by=clinician,
    )
    page = signed_in(clinician).get(f"/cases/{case.pk}/").context["page"]
    (marks,) = traces(page.panels[0].chart.json, "flag")
    assert marks["text"] == [
        "Injection: Invented injection.",
        "Continue as planned",
    ]
    assert marks["name"] == "Decision or other care"


def test_the_table_holds_the_same_days_as_the_figure(
    case: Episode, programme: Programme, today: date
) -> None:
    """In order of time."""
    found = panel(case, today)
    shown = [on for on, _, _ in found.chart.table_rows]
    days = [today - each * WEEK for each in (8, 8, 6, 3, 3)]
    assert shown == [day(on) for on in days]


def test_nothing_to_show_is_no_panel(case: Episode, today: date) -> None:
    """A case without a programme keeps its page."""
    assert panel(case, today) is None


def test_voided_things_are_not_drawn(
    case: Episode, today: date, clinician: User
) -> None:
    """They stay on record, elsewhere."""
    from programs.safety import void_event, void_other_care

    void_other_care(make_other_care(episode=case, on=today), by=clinician, why="x")
    void_event(make_event(episode=case, on=today), by=clinician, why="x")
    assert panel(case, today) is None


def test_what_waits_is_not_drawn(case: Episode, today: date, clinician: User) -> None:
    """A phase without a day has not happened."""
    programme = make_programme(case, on=today - WEEK)
    later = add_phase(programme, by=clinician, title="Later")
    prescribe(later, by=clinician, line=Line(exercise="taping_tailored"), on=today)
    found = panel(case, today)
    assert found.lanes == 1
    assert not any("taping" in what.lower() for what in rows(found))


def test_a_bar_is_cut_at_the_span_and_a_day_has_a_width() -> None:
    """Pure figure: what began before the axis begins with it."""
    first, last = date(2031, 1, 1), date(2031, 3, 1)
    before = date(2030, 2, 1)
    figure = programme_figure(
        [
            Lane("Phase", "bar", "Long", (Bar(date(2030, 1, 1), last, "w"),)),
            Lane("Phase", "bar", "Short", (Bar(last, last, "w"),)),
            Lane("Phase", "bar", "Past", (Bar(date(2030, 1, 1), before, ""),)),
            Lane("Event", "event", "<b>x</b>", marks=(Mark(last, "w"),)),
        ],
        span=(first, last),
    )
    long, short, marks = figure["data"]
    assert len(figure["layout"]["annotations"]) == 3
    assert long["base"] == [first.isoformat()] and long["x"] == [59 * DAY_MS]
    assert short["x"] == [DAY_MS]
    assert [each.get("showlegend") for each in (long, short)] == [True, False]
    assert marks["meta"] == {"role": "event"}
    assert figure["layout"]["annotations"][-1]["text"] == "&lt;b>x&lt;/b>"
    assert "color" not in str(figure)
