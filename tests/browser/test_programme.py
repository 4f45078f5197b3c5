"""A programme on a tablet: plan a line, log its sessions, take the next step."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.utils import timezone
from playwright.sync_api import Page, expect

from clinic.models import Episode, User
from clinic.screening import questions
from outcomes.session_recording import SessionEntry
from programs.models import Prescription, SessionLog, SuggestionChoice
from tests.factories import (
    make_akps,
    make_other_care,
    make_screened_episode,
    make_visit,
)
from tests.programs.plans import SQUAT, make_line, make_programme, squat_line

pytestmark = [pytest.mark.django_db(transaction=True)]
Open = Callable[[Page, User, str], Page]
Shot = Callable[[Page, str], None]


@pytest.fixture
def on() -> date:
    """Today on the clinic's clock; the browser's date field follows the wall."""
    return timezone.localdate()


@pytest.fixture
def case(clinician: User, on: date) -> Episode:
    """A case five weeks in, low irritability, measured twice."""
    made = make_screened_episode(
        by=clinician, opened_on=on - timedelta(weeks=5), irritability="low"
    )
    make_akps(episode=made, on=made.opened_on, total=61)
    make_akps(episode=made, on=on - timedelta(weeks=1), total=70)
    return made


@pytest.fixture
def line(case: Episode, on: date) -> Prescription:
    """Three sets of ten at 12 kg, calm and beaten at the last visit."""
    began = on - timedelta(weeks=4)
    programme = make_programme(case, on=began, first_phase="Calm the knee")
    made = make_line(programme, on=began, line=squat_line(plate_step_kg=0.5))
    entry = SessionEntry(
        prescription=made,
        sessions_done=9,
        sets_done=3,
        repetitions_over=2,
        pain_during=1,
    )
    make_visit(
        episode=case,
        on=on - timedelta(weeks=1),
        pain={"usual": 2},
        next_morning="settled",
        session_logs=(entry,),
    )
    return made


def tap(page: Page, *ids: str) -> None:
    """Tap the buttons of these inputs, as a finger does."""
    for dom_id in ids:
        page.locator(f'label:has(> [id="{dom_id}"])').tap()


def attended_without_flags(page: Page) -> None:
    """Tap attended, and no to each safety question."""
    tap(page, "id_attendance_attended")
    tap(page, *(f"id_screen-{c.key}_no" for c in questions("short", age=32)))


def save(page: Page, case: Episode) -> None:
    """Save the visit and wait for the case page."""
    page.get_by_role("button", name="Save the visit").tap()
    page.wait_for_url(f"**/cases/{case.pk}/")


def serious_faults(page: Page) -> list[tuple[str, str]]:
    """Return what axe holds against the page."""
    found = Axe().run(page).response["violations"]
    return [
        (each["id"], each["nodes"][0]["html"])
        for each in found
        if each["impact"] in ("critical", "serious")
    ]


def test_a_line_is_planned_by_tapping_through_the_pages(
    page: Page, open_as: Open, clinician: User, case: Episode, screenshot: Shot
) -> None:
    """Begin a programme, choose an exercise, keep the library's dose; then log it."""
    open_as(page, clinician, f"/cases/{case.pk}/programme/new/")
    page.get_by_label("Title", exact=False).first.fill("Invented plan")
    page.locator("main .btn-primary").tap()
    page.wait_for_url(f"**/cases/{case.pk}/programme/")
    page.get_by_role("link", name="Prescribe in this phase").tap()
    page.wait_for_url("**/prescribe/")
    page.goto(f"{page.url}?exercise={SQUAT}")
    page.locator("#prescribe-form .btn-primary").tap()
    page.wait_for_url(f"**/cases/{case.pk}/programme/**")
    line = Prescription.objects.get()
    screenshot(page, "programme-planned")
    open_as(page, clinician, f"/cases/{case.pk}/visits/new/")
    expect(page.locator(f"#line-{line.pk}")).to_be_visible()


def test_a_visit_as_planned_takes_two_taps_a_line(
    page: Page,
    open_as: Open,
    clinician: User,
    case: Episode,
    line: Prescription,
    on: date,
    screenshot: Shot,
) -> None:
    """“As planned” fills in sessions and sets; pain is tapped by itself."""
    open_as(page, clinician, f"/cases/{case.pk}/visits/new/")
    part = page.locator(f"#line-{line.pk}")
    pain = page.locator(f"#id_line-{line.pk}-pain_during")
    expect(pain).to_be_hidden()
    part.get_by_role("button", name="As planned").tap()
    expect(pain).to_be_visible()
    assert part.locator("input:checked").count() == 0
    tap(page, f"id_line-{line.pk}-pain_during_1")
    expect(part.locator("[data-told]")).to_have_text("3 sessions, 3 sets, pain 1")
    attended_without_flags(page)
    screenshot(page, "visit-with-programme")
    assert serious_faults(page) == []
    save(page, case)
    log = SessionLog.objects.get(visit__visited_on=on)
    assert (log.sessions_done, log.sets_done, log.pain_during) == (3, 3, 1)
    assert log.repetitions_over is None


def test_one_line_is_open_at_a_time_and_a_reload_keeps_what_was_told(
    page: Page,
    open_as: Open,
    clinician: User,
    case: Episode,
    line: Prescription,
    on: date,
) -> None:
    """The draft of the form holds the lines too, each its own."""
    other = make_line(line.phase.programme, on=on - timedelta(weeks=3))
    open_as(page, clinician, f"/cases/{case.pk}/visits/new/")
    first, second = (page.locator(f"#line-{pk}") for pk in (line.pk, other.pk))
    first.get_by_role("button", name="As planned").tap()
    second.locator("summary").tap()
    expect(first.locator("details")).not_to_have_attribute("open", "")
    page.locator(f"#id_line-{other.pk}-sessions_done").fill("1")
    tap(page, f"id_line-{other.pk}-pain_during_4")
    expect(page.locator("[data-save-status]")).to_contain_text("Kept on this tablet")
    page.goto(page.url)
    expect(first.locator("[data-told]")).to_have_text("3 sessions, 3 sets")
    expect(second.locator("[data-told]")).to_have_text("1 sessions, pain 4")
    attended_without_flags(page)
    save(page, case)
    kept = SessionLog.objects.filter(visit__visited_on=on)
    assert {log.prescription_id: log.sessions_done for log in kept} == {
        line.pk: 3,
        other.pk: 1,
    }


def test_the_next_step_is_taken_with_one_tap(
    page: Page,
    open_as: Open,
    clinician: User,
    case: Episode,
    line: Prescription,
    on: date,
    screenshot: Shot,
) -> None:
    """From the visit to the changed line, with the change marked under the scores."""
    make_other_care(episode=case, on=on - timedelta(weeks=2))
    open_as(page, clinician, f"/cases/{case.pk}/visits/new/")
    attended_without_flags(page)
    tap(page, "id_pain_usual_2", "id_next_morning_settled")
    page.locator(f"#line-{line.pk}").get_by_role("button", name="As planned").tap()
    tap(page, f"id_line-{line.pk}-repetitions_over_2")
    tap(page, f"id_line-{line.pk}-pain_during_1")
    save(page, case)
    step = page.locator("#next-step")
    expect(step).to_contain_text("Raise the load from 12 to 13 kg")
    expect(page.locator("#case-programme .main-svg").first).to_be_visible()
    screenshot(page, "case-with-next-step")
    assert serious_faults(page) == []
    step.get_by_role("button", name="Accept").tap()
    expect(page.locator("#messages")).to_contain_text("It holds from today")
    expect(page.locator("#next-step")).to_contain_text("No session at the present dose")
    assert SuggestionChoice.objects.get().leads_to.load_kg == 13.0
    table = page.locator("#case-programme details")
    table.locator("summary").tap()
    expect(table).to_contain_text("changed")
    screenshot(page, "case-after-accepting")


def test_it_all_works_without_a_script(
    no_js_page: Page,
    open_as: Open,
    clinician: User,
    case: Episode,
    line: Prescription,
    on: date,
) -> None:
    """“As planned” comes back filled in; the answer is a plain form."""
    page = open_as(no_js_page, clinician, f"/cases/{case.pk}/visits/new/")
    attended_without_flags(page)
    tap(page, "id_pain_usual_2", "id_next_morning_settled")
    page.locator(f"#line-{line.pk}").get_by_role("button", name="As planned").click()
    sessions = page.locator(f"#id_line-{line.pk}-sessions_done")
    expect(sessions).to_have_value("3")
    tap(page, f"id_line-{line.pk}-repetitions_over_1")
    tap(page, f"id_line-{line.pk}-pain_during_0")
    save(page, case)
    page.get_by_role("button", name="Accept").click()
    assert Prescription.objects.get(replaces=line).load_kg == 13.0


def test_pictures_on_paper_and_in_the_dark(
    new_context: Callable[..., Any],
    open_as: Open,
    clinician: User,
    case: Episode,
    line: Prescription,
    screenshot: Shot,
) -> None:
    """The panel is drawn in both inks."""
    page = new_context(color_scheme="dark").new_page()
    open_as(page, clinician, f"/cases/{case.pk}/")
    expect(page.locator("#case-programme .main-svg").first).to_be_visible()
    screenshot(page, "case-with-programme-dark")
