"""The home programme on a tablet: seen, printed, and alone on its paper."""

import re
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from clinic.models import AuditEvent, Episode, Site, User
from programs import audit
from programs.library import library
from programs.library_entries import Kind
from programs.lines import Line
from programs.planning import start_programme
from programs.prescribing import prescribe
from tests.factories import make_episode, make_patient

from .conftest import MARKS_PRINTING

pytestmark = [pytest.mark.django_db(transaction=True)]
Open = Callable[[Page, User, str], Page]
WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
KEYS = (
    "side_lying_leg_lift",
    "squat_half",
    "band_side_step",
    "hip_thrust",
    "step_up_low",
    "hop_on_spot",
    "wall_squat_hold",
)


@pytest.fixture
def case(clinician: User) -> Episode:
    """A case with eight exercises at home, one of them tape, in a demonstration."""
    Site.objects.update(is_demo=True)
    User.objects.filter(pk=clinician.pk).update(
        first_name="Clarice", last_name="Avermore"
    )
    clinician.refresh_from_db()
    on = timezone.localdate()
    patient = make_patient(by=clinician, given_name="Ada", family_name="Inventson")
    made = make_episode(
        by=clinician, patient=patient, opened_on=on - timedelta(weeks=3)
    )
    phase = start_programme(made, by=clinician, starts_on=on, title="Home").phases.get()
    for key in KEYS:
        assert library()[key].kind is Kind.EXERCISE
        line = Line(
            exercise=key, sets=3, repetitions=12, times_a_week=3, rest_seconds=60
        )
        prescribe(phase, by=clinician, line=line, on=on)
    tape = Line(exercise="taping_tailored", load="none", note="Invented note")
    prescribe(phase, by=clinician, line=tape, on=on)
    return made


@pytest.fixture
def desk(page: Page, open_as: Open, clinician: User, case: Episode) -> Page:
    """The page of the sheet, as it opens."""
    return open_as(page, clinician, reverse("programs:handout", args=[case.pk]))


def violations(page: Page) -> list[str]:
    """Return what axe finds against WCAG 2.2 AA."""
    found = Axe().run(page, options={"runOnly": {"type": "tag", "values": WCAG}})
    return [f"{v['id']}: {v['nodes'][0]['html']}" for v in found.response["violations"]]


def pages_of(made: bytes) -> int:
    """Count the pages of a PDF that Chromium made."""
    return len(re.findall(rb"/Type\s*/Page\b", made))


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_sheet_is_readable_by_everyone(
    desk: Page, screenshot: Callable[[Page, str], None], scheme: str
) -> None:
    """No violation, no sideways scrolling; the sheet is white paper in both schemes."""
    desk.emulate_media(color_scheme=scheme)
    screenshot(desk, f"handout_{scheme}")
    assert violations(desk) == []
    assert desk.evaluate("document.documentElement.scrollWidth <= innerWidth")
    sheet = desk.locator("#handout-sheet")
    expect(sheet).to_have_css("background-color", "rgb(255, 255, 255)")
    expect(sheet.locator(".task")).to_have_count(8)


def test_printing_fills_in_the_line_and_goes_on_record(
    desk: Page, clinician: User, screenshot: Callable[[Page, str], None], tmp_path: Path
) -> None:
    """One tap prints: the line is on the sheet, not in the address; two pages."""
    desk.add_init_script(MARKS_PRINTING)
    before = desk.url
    desk.get_by_label("Whom to call").fill("Front desk, 555 0100, weekdays 8 to 5")
    desk.get_by_role("button", name="Print", exact=True).tap()
    expect(desk.get_by_text("it is on record that you made it")).to_be_visible()
    expect(desk.locator("html[data-printed]")).to_be_attached()
    assert desk.url == before
    (event,) = AuditEvent.objects.filter(action=audit.HANDOUT_MADE.code)
    assert event.by == clinician
    desk.emulate_media(media="print")
    screenshot(desk, "handout_print")
    for chrome in (".bar", ".foot", ".demo-banner", ".handout-desk"):
        expect(desk.locator(chrome)).to_be_hidden()
    sheet = desk.locator("#handout-sheet")
    expect(sheet.get_by_text("Front desk, 555 0100")).to_be_visible()
    expect(sheet.get_by_text("Invented demonstration")).to_be_visible()
    expect(sheet.get_by_text("Invented note")).to_have_count(0)
    small = "[...document.querySelectorAll('#handout-sheet :not(svg, svg *)')]" + (
        ".filter(each => parseFloat(getComputedStyle(each).fontSize) < 14 * 96 / 72)"
        ".length"
    )
    assert desk.evaluate(small) == 0
    made = desk.pdf(prefer_css_page_size=True)
    (tmp_path / "print.pdf").write_bytes(made)
    assert pages_of(made) == 2


def test_a_sheet_that_nobody_made_does_not_print(desk: Page) -> None:
    """Who made it goes on record, so the browser's menu alone prints a sentence."""
    desk.emulate_media(media="print")
    expect(desk.locator("#handout-sheet")).to_be_hidden()
    expect(desk.get_by_text("Go back to the page and choose")).to_be_visible()


def test_the_sheet_works_without_scripts(
    no_js_page: Page, open_as: Open, clinician: User, case: Episode
) -> None:
    """The line comes onto the sheet; the browser's menu prints it."""
    path = reverse("programs:handout", args=[case.pk])
    page = open_as(no_js_page, clinician, path)
    page.get_by_label("Whom to call").fill("555 0100")
    page.get_by_role("button", name="Print", exact=True).tap()
    expect(page.locator("#handout-sheet").get_by_text("555 0100")).to_be_visible()
    page.emulate_media(media="print")
    expect(page.locator("#handout-sheet")).to_be_visible()
