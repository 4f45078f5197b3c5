"""The pages of physical tests: choosing, typing, what is refused, the case page."""

import json
import re
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client
from django.utils.html import escape

from clinic.admitting import discharge
from clinic.models import Episode, User
from outcomes.models import PhysicalResult
from outcomes.physical_recording import sides_of
from outcomes.science.physical_file import physical_tests
from outcomes.science.physical_tests import PhysicalTest
from tests.factories import make_akps, make_episode, make_physical, make_visit

OPENED = date(2026, 3, 2)
EVERY_TEST = [pytest.param(each, id=key) for key, each in physical_tests().items()]
VERDICTS = ("improved", "important change", "measurement error")


@pytest.fixture
def episode(clinician: User) -> Episode:
    """A left knee in care."""
    return make_episode(by=clinician, opened_on=OPENED)


@pytest.fixture
def client(clinician: User, signed_in: Callable[[User], Client], clock: Any) -> Client:
    """The clinician's browser."""
    return signed_in(clinician)


@pytest.fixture
def send(client: Client, episode: Episode, today: date) -> Any:
    """Return what sends the form of a test, filled with `typed`."""

    def post(
        test: str = "hip_abductor", *, follow: bool = False, **typed: Any
    ) -> HttpResponse:
        path = f"/cases/{episode.pk}/tests/new/?test={test}"
        page = client.get(path).content.decode()
        key = re.search(r'name="form_key" value="([^"]+)"', page)
        assert key
        given = {"form_key": key[1], "tested_on": today.isoformat(), "unit": "N"}
        return client.post(path, {**given, **typed}, follow=follow)

    return post


def text(response: HttpResponse) -> str:
    """Return the page as text."""
    return response.content.decode()


# Choosing and showing


def test_the_case_leads_to_the_tests(client: Client, episode: Episode) -> None:
    """The link stands with the other acts."""
    path = f"/cases/{episode.pk}/tests/new/"
    assert path in text(client.get(f"/cases/{episode.pk}/"))
    page = text(client.get(path))
    for about in physical_tests().values():
        assert about.name in page
        assert f"?test={about.key}" in page
    assert "no verdict is drawn from them" in page


@pytest.mark.parametrize("about", EVERY_TEST)
def test_each_form_shows_how_and_cautions_and_one_field_a_trial(
    about: PhysicalTest, client: Client, episode: Episode
) -> None:
    """What the file says, and as many trials as it plans for each side."""
    page = text(client.get(f"/cases/{episode.pk}/tests/new/?test={about.key}"))
    for sentence in (about.how, *about.cautions, *about.notes):
        assert escape(sentence) in page
    for side in sides_of(about):
        planned = [str(n + 1) for n in range(about.trials.planned)]
        found = re.findall(rf'name="{side or "person"}_(\d+)"', page)
        assert list(dict.fromkeys(found)) == planned
    assert ('name="unit"' in page) is (about.quantity == "force")
    assert ('name="body_kg"' in page) is (about.lever_arm is not None)
    assert ('name="left_arm_cm"' in page) is (about.lever_arm is not None)


@pytest.mark.parametrize("about", EVERY_TEST)
def test_no_form_shows_a_threshold_where_its_file_has_none(
    about: PhysicalTest, client: Client, episode: Episode
) -> None:
    """It says that none is known instead."""
    page = text(client.get(f"/cases/{episode.pk}/tests/new/?test={about.key}"))
    assert ("No published threshold for this test is known" in page) is (
        not about.thresholds
    )


def test_numbers_come_from_a_number_pad(client: Client, episode: Episode) -> None:
    """Decimals for a force, whole numbers for a count."""
    force = text(client.get(f"/cases/{episode.pk}/tests/new/?test=hip_abductor"))
    count = text(client.get(f"/cases/{episode.pk}/tests/new/?test=step_down"))
    assert re.search(r'name="left_1"[^>]*inputmode="decimal"', force)
    assert re.search(r'name="left_1"[^>]*inputmode="numeric"', count)


def test_an_unknown_test_is_not_found(client: Client, episode: Episode) -> None:
    """A crafted address gets no form."""
    path = f"/cases/{episode.pk}/tests/new/?test=arm_wrestling"
    assert client.get(path).status_code == 404
    assert client.post(path, {}).status_code == 404


def test_the_last_time_is_shown_so_that_like_is_compared_with_like(
    client: Client, episode: Episode, today: date
) -> None:
    """Numbers, unit and how it was done; the unit is chosen already."""
    make_physical(
        episode=episode,
        on=today - timedelta(days=7),
        sides={"left": (20, 21, 22), "right": (25, 25, 25)},
        unit="kg",
        done_how="Side-lying, strap.",
    )
    page = text(client.get(f"/cases/{episode.pk}/tests/new/?test=hip_abductor"))
    assert "Last time" in page
    assert "Side-lying, strap." in page
    assert "20, 21, 22 kg" in page
    assert re.search(r'value="kg"[^>]*checked', page)


# Saving


def test_both_sides_are_saved_and_their_symmetry_is_said(send: Any) -> None:
    """200 and 250 N: 80 per cent, in words, after saving."""
    page = text(
        send(
            left_1="200", left_2="210", left_3="190",
            right_1="250", right_2="240", right_3="260",
            follow=True,
        )
    )  # fmt: skip
    assert "left 200 N, right 250 N." in page
    assert "reaches 80 per cent of the other side, which may itself be weak" in page
    assert PhysicalResult.objects.count() == 2


def test_everything_that_was_typed_is_kept(send: Any, today: date) -> None:
    """Unit, arms, weight, pain, a trial that pain stopped, and how."""
    answer = send(
        unit="kg",
        left_1="20,5",
        left_2="12",
        left_2_stopped="on",
        left_arm_cm="80",
        left_pain="3",
        right_1="25",
        body_kg="71.5",
        done_how="Strap",
    )
    assert answer.status_code == 302
    left, right = PhysicalResult.objects.order_by("side")
    assert left.trials == [
        {"value": 20.5, "is_stopped_by_pain": False},
        {"value": 12.0, "is_stopped_by_pain": True},
    ]
    assert left.value == pytest.approx(20.5 * 9.80665)
    assert (left.lever_arm_m, left.pain, left.body_kg) == (0.8, 3, 71.5)
    assert (right.lever_arm_m, right.pain, right.done_how) == (None, None, "Strap")
    assert left.tested_on == today


def test_a_missing_side_is_allowed_and_said(send: Any) -> None:
    """Symmetry waits for the other side."""
    page = text(send(left_1="200", follow=True))
    assert "The right side was not tested." in page
    assert "per cent" not in page.split("</main>")[0].split('id="messages"')[1]


def test_a_pain_of_zero_is_an_answer(send: Any) -> None:
    """Zero is not empty."""
    send("single_leg_squat", left_1="0", right_1="0")
    assert set(PhysicalResult.objects.values_list("value", flat=True)) == {0.0}


def test_a_test_of_the_person_has_no_side(send: Any) -> None:
    """A week without running is a result."""
    page = text(send("running_volume", person_1="0", follow=True))
    (row,) = PhysicalResult.objects.all()
    assert (row.side, row.value) == ("", 0.0)
    assert "Running, 1 Jun 2026: 0 km a week." in page


def test_two_taps_save_once(client: Client, episode: Episode, today: date) -> None:
    """The second lands where the first did."""
    path = f"/cases/{episode.pk}/tests/new/?test=step_down"
    found = re.search(r'name="form_key" value="([^"]+)"', text(client.get(path)))
    assert found
    form = {"form_key": found[1], "tested_on": today.isoformat(), "left_1": "12"}
    first, second = client.post(path, form), client.post(path, form)
    assert (first.status_code, second.status_code) == (302, 302)
    assert PhysicalResult.objects.count() == 1


# What is refused


def refused(answer: HttpResponse, reason: str) -> str:
    """Hold that nothing was saved, and return the page."""
    page = text(answer)
    assert answer.status_code == 422
    assert reason in page
    return page


@pytest.mark.parametrize(
    ("test", "typed", "reason"),
    [
        ("hip_abductor", {"left_1": "2000"}, "This must be 10 to 1000 N."),
        ("hip_abductor", {"left_1": "5"}, "This must be 10 to 1000 N."),
        (
            "hip_abductor",
            {"left_1": "200", "unit": "kg"},
            "This must be 1.02 to 101.97 kg.",
        ),
        ("hip_abductor", {"left_1": "strong"}, "Write a number"),
        ("hip_abductor", {"left_1": "nan"}, "Write a number"),
        ("hip_abductor", {"left_1": "1e999"}, "Write a number"),
        ("hip_abductor", {"left_1": "-200"}, "This must be 10 to 1000 N."),
        ("hip_abductor", {"left_1": "200", "unit": ""}, "Choose what the device"),
        ("hip_abductor", {"left_1": "200", "unit": "lb"}, "Choose one of these"),
        (
            "hip_abductor",
            {"left_1": "200", "left_arm_cm": "0.8"},
            "This must be 5 to 120 cm.",
        ),
        ("hip_abductor", {"left_1": "200", "body_kg": "7"}, "This must be 15 to 300"),
        ("hip_abductor", {"left_1": "200", "left_pain": "11"}, "from 0 to 10"),
        ("hip_abductor", {}, "Enter at least one trial"),
        ("hip_abductor", {"body_kg": "70"}, "Enter at least one trial"),
        ("hip_abductor", {"left_arm_cm": "80"}, "No trial of the left side"),
        (
            "hip_abductor",
            {"left_1": "200", "right_pain": "0"},
            "No trial of the right side",
        ),
        (
            "hip_abductor",
            {"left_1": "200", "left_2_stopped": "on"},
            "Write what was reached before the pain",
        ),
        ("step_down", {"left_1": "12.5"}, "Write a whole number."),
        ("step_down", {"left_1": "61"}, "This must be 0 to 60 repetitions."),
        ("single_leg_squat", {"left_1": "11"}, "This must be 0 to 10 points."),
        ("single_leg_hop", {"left_1": "400"}, "This must be 5 to 350 cm."),
        ("running_volume", {"person_1": "301"}, "This must be 0 to 300 km a week."),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(
    test: str, typed: dict[str, str], reason: str, send: Any
) -> None:
    """With the range in the unit that was typed; nothing is saved."""
    refused(send(test, **typed), reason)
    assert not PhysicalResult.objects.exists()


def test_typing_is_kept_when_something_is_refused(send: Any) -> None:
    """The other fields, the tick, the pain and the words stay as they were."""
    page = refused(
        send(
            left_1="2000",
            left_2="201.5",
            left_2_stopped="on",
            left_pain="4",
            done_how="With a strap",
        ),
        "This must be 10 to 1000 N.",
    )
    assert 'value="2000"' in page
    assert 'value="201.5"' in page
    assert 'value="With a strap"' in page
    assert re.search(r'name="left_2_stopped"[^>]*checked', page)
    assert re.search(r'name="left_pain"[^>]*value="4" checked', page)
    assert page.count("Nothing was saved yet") == 1


@pytest.mark.parametrize(
    ("days", "reason"),
    [
        (1, "This day is in the future"),
        (-92, "This case was opened on 2 Mar 2026"),
    ],
)
def test_the_day_lies_in_the_case(
    days: int, reason: str, send: Any, today: date
) -> None:
    """Not to come, not before the opening."""
    on = (today + timedelta(days=days)).isoformat()
    refused(send(left_1="200", tested_on=on), reason)


def test_a_test_after_the_discharge_is_refused(
    send: Any, episode: Episode, today: date
) -> None:
    """One before it may still be entered."""
    on = today - timedelta(days=7)
    discharge(
        episode,
        by=episode.clinician,
        on=on,
        reason="goals met",
        note="",
        version=episode.version,
    )
    refused(send(left_1="200"), "This case was discharged on 25 May 2026")
    assert send(left_1="200", tested_on=on.isoformat()).status_code == 302


def test_a_second_result_of_a_day_is_refused_with_the_first(
    send: Any, episode: Episode, today: date
) -> None:
    """It names what stands; the other side can still be added."""
    make_physical(episode=episode, on=today, sides={"left": (200,)})
    page = refused(
        send(left_1="210", right_1="250"),
        "The left side has a result for 1 Jun 2026 already: 200 N.",
    )
    assert "The right side has a result" not in page
    assert send(right_1="250").status_code == 302


def test_a_voided_episode_takes_no_test(
    send: Any, client: Client, episode: Episode
) -> None:
    """It says so on the patient's page."""
    Episode.objects.filter(pk=episode.pk).update(
        voided_at="2026-05-01T10:00Z", voided_by=episode.clinician, void_reason="x"
    )
    answer = client.get(f"/cases/{episode.pk}/tests/new/", follow=True)
    assert "nothing more is entered in it" in text(answer)


# Voiding


def test_a_result_is_voided_with_a_reason(
    client: Client, episode: Episode, today: date
) -> None:
    """It leaves the case page; the other side stays."""
    left, right = make_physical(episode=episode, on=today)
    path = f"/tests/{left.pk}/void/"
    assert path in text(client.get(f"/cases/{episode.pk}/"))
    page = text(client.get(path))
    assert "Void the result of hip abductors, left, 1 Jun 2026" in page
    found = re.search(r'name="form_key" value="([^"]+)"', page)
    assert found
    answer = client.post(path, {"form_key": found[1]})
    assert answer.status_code == 422
    answer = client.post(path, {"form_key": found[1], "why": "Wrong leg."})
    assert answer.status_code == 302
    case = text(client.get(f"/cases/{episode.pk}/"))
    assert path not in case
    assert f"/tests/{right.pk}/void/" in case
    again = client.get(path, follow=True)
    assert "This result is void already: Wrong leg." in text(again)


# On the case page


def figures(page: str) -> dict[str, Any]:
    """Return the figures of a page by the id of their chart."""
    found = re.findall(
        r'<script id="(chart-[\w-]+)-data" type="application/json">(.*?)</script>', page
    )
    return {name: json.loads(figure) for name, figure in found}


def test_both_sides_are_two_lines_on_the_axis_of_the_case(
    client: Client, episode: Episode, today: date
) -> None:
    """The index side is drawn full; time is the same under every panel."""
    make_akps(episode=episode, on=OPENED, total=70)
    make_physical(episode=episode, on=today - timedelta(days=7))
    make_physical(episode=episode, on=today, sides={"left": (220,), "right": (250,)})
    charts = figures(text(client.get(f"/cases/{episode.pk}/")))
    test, akps = charts["chart-test-hip-abductor"], charts["chart-akps"]
    assert [(line["name"], line["meta"]["role"]) for line in test["data"]] == [
        ("Left (index side)", "score"),
        ("Right", "score-other"),
    ]
    assert test["data"][0]["y"] == [200, 220]
    assert test["data"][1]["y"] == [250, 250]
    assert test["layout"]["xaxis"]["range"] == akps["layout"]["xaxis"]["range"]


def test_the_table_has_symmetry_torque_and_pain(
    client: Client, episode: Episode, today: date
) -> None:
    """The same numbers as the figure, with their units."""
    make_physical(episode=episode, on=today)
    page = text(client.get(f"/cases/{episode.pk}/"))
    for heading in ("Left (index side)", "Right", "Symmetry", "Torque, left and right"):
        assert f'<th scope="col">{heading}</th>' in page
    cells = "<td>200 N</td><td>250 N</td><td>80 %</td>"
    assert cells in page.replace("\N{NO-BREAK SPACE}", " ")


def test_torque_is_shown_where_arm_and_weight_are_known(
    client: Client, send: Any, episode: Episode
) -> None:
    """200 N × 0.4 m = 80 Nm, for 80 kg 1 Nm/kg; the other side has no arm."""
    send(left_1="200", left_arm_cm="40", right_1="250", body_kg="80")
    page = text(client.get(f"/cases/{episode.pk}/"))
    assert "<td>80 Nm (1 Nm/kg), –</td>" in page.replace("\N{NO-BREAK SPACE}", " ")


def test_no_verdict_is_given_on_a_physical_test(
    client: Client, episode: Episode, today: date
) -> None:
    """Fifty per cent more is a number; whether it matters is not known."""
    make_physical(episode=episode, on=OPENED, sides={"left": (200,)})
    make_physical(episode=episode, on=today, sides={"left": (300,)})
    page = text(client.get(f"/cases/{episode.pk}/"))
    part = page.split("<h2>Physical tests</h2>")[-1].split("<h2>Visits</h2>")[0]
    assert "No published threshold for this test is known to this project" in part
    assert not any(word in part.lower() for word in VERDICTS)
    assert 'class="verdict"' not in part


def test_a_moved_pad_is_said(client: Client, episode: Episode, today: date) -> None:
    """Then force does not compare, and torque does."""
    make_physical(episode=episode, on=OPENED, sides={"left": (200,)})
    make_physical(episode=episode, on=today, sides={"left": (200,)})
    page = f"/cases/{episode.pk}/"
    said = "compare torque, not force"
    assert said not in text(client.get(page))
    PhysicalResult.objects.filter(tested_on=OPENED).update(lever_arm_m=0.8)
    PhysicalResult.objects.filter(tested_on=today).update(lever_arm_m=0.7)
    assert said in text(client.get(page))


def test_what_is_typed_cannot_leave_its_place(
    client: Client, episode: Episode, today: date
) -> None:
    """Words are words, in the table, the list and the figure."""
    words = "</script><script>alert(1)</script>"
    make_physical(episode=episode, on=today, done_how=words)
    assert words not in text(client.get(f"/cases/{episode.pk}/"))


def test_a_colleague_reads_without_the_way_to_void(
    colleague: User, episode: Episode, signed_in: Any, clock: Any, today: date
) -> None:
    """Writing belongs to the case's clinician, to cover and to the lead."""
    left, _ = make_physical(episode=episode, on=today)
    page = text(signed_in(colleague).get(f"/cases/{episode.pk}/"))
    assert "200 N" in page
    assert f"/tests/{left.pk}/void/" not in page
    assert "Record a physical test" not in page


def test_a_case_without_tests_has_no_empty_section(
    client: Client, episode: Episode
) -> None:
    """The page is not longer for those who never test."""
    assert "<h2>Physical tests</h2>" not in text(client.get(f"/cases/{episode.pk}/"))


def test_queries_do_not_grow_with_the_tests(
    client: Client, episode: Episode, query_count: Any, today: date
) -> None:
    """Neither the case page nor the choice of tests."""
    make_visit(episode=episode, on=OPENED)
    make_physical(episode=episode, on=OPENED)
    pages = (f"/cases/{episode.pk}/", f"/cases/{episode.pk}/tests/new/")
    few = [query_count(client, page) for page in pages]
    for days in range(1, 9):
        on = OPENED + timedelta(days=days)
        make_physical(episode=episode, on=on)
        make_physical(episode=episode, on=on, test="step_down", sides={"left": (9,)})
    assert [query_count(client, page) for page in pages] == few
