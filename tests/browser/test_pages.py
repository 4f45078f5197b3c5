"""The caseload and the case page in a real browser: touch, axe, charts, print."""

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.utils import timezone
from playwright.sync_api import Page, expect

from clinic.models import Episode, User
from tests.factories import make_akps, make_episode, make_patient, make_visit

pytestmark = [pytest.mark.django_db(transaction=True)]
Open = Callable[[Page, User, str], Page]
WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
LEAST_TARGET = 48  # CSS pixels, a recommendation of the statistics reference, section 6


def violations(page: Page) -> list[str]:
    """Return what axe finds against WCAG 2.2 AA."""
    found = Axe().run(page, options={"runOnly": {"type": "tag", "values": WCAG}})
    return [f"{v['id']}: {v['nodes'][0]['html']}" for v in found.response["violations"]]


@pytest.fixture
def episode(clinician: User) -> Episode:
    """A stalled case of twelve weeks with a name that is hard to set."""
    return stalled(
        clinician,
        given_name="Wilhelmina Aurelia",
        family_name="van der Oudermeulen-Fitzgerald-Castellanos",
    )


def stalled(by: User, **details: str) -> Episode:
    """Make a stalled case of twelve weeks with two findings."""
    opened = timezone.localdate() - timedelta(weeks=12)
    patient = make_patient(by=by, **details)
    episode = make_episode(by=by, patient=patient, opened_on=opened)
    for week, total in ((0, 58), (6, 60), (12, 59)):
        on = opened + timedelta(weeks=week)
        make_visit(
            episode=episode,
            on=on,
            pain={"worst": 7, "usual": 4, "stairs": 5},
            note="Ok",
        )
        make_akps(episode=episode, on=on, total=total)
    return episode


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_caseload_is_readable_by_everyone(
    page: Page, open_as: Open, clinician: User, episode: Episode, scheme: str
) -> None:
    """No violation, no sideways scrolling, in both schemes."""
    page.emulate_media(color_scheme=scheme)
    open_as(page, clinician, "/")
    expect(page.get_by_text("No measurable progress, review")).to_be_visible()
    assert violations(page) == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_a_case_is_found_without_its_name_in_the_address(
    page: Page, open_as: Open, clinician: User, episode: Episode
) -> None:
    """Typing a name narrows the list; the address stays as it was."""
    open_as(page, clinician, "/")
    before = page.url
    page.get_by_label("Find by name or number").fill("oudermeulen")
    page.get_by_role("button", name="Find").tap()
    expect(page.get_by_text("1 open case found")).to_be_visible()
    assert page.url == before


def test_filters_narrow_the_list_in_place(
    page: Page, open_as: Open, clinician: User, episode: Episode
) -> None:
    """A choice is applied at once and can be shared as an address."""
    open_as(page, clinician, "/")
    page.get_by_label("Show").select_option("resting")
    expect(page.get_by_text("None of these")).to_be_visible()
    assert "show=resting" in page.url
    page.go_back()
    expect(page.locator(".row-link", has_text="Wilhelmina")).to_be_visible()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_case_page_draws_its_charts_under_the_strict_policy(
    page: Page,
    open_as: Open,
    clinician: User,
    episode: Episode,
    scheme: str,
    screenshot: Callable[[Page, str], None],
) -> None:
    """Charts are drawn, the console is silent, nothing offers to upload."""
    page.emulate_media(color_scheme=scheme)
    open_as(page, clinician, f"/cases/{episode.pk}/")
    expect(page.locator("[data-drawn]")).to_have_count(2)
    assert page.locator(".modebar").count() == 0
    assert page.get_by_text("Share").count() == 0
    assert violations(page) == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    screenshot(page, f"case-{scheme}")


def test_buttons_are_large_enough_for_a_finger(
    page: Page, open_as: Open, clinician: User, episode: Episode
) -> None:
    """Every button and form control is at least 48 pixels high."""
    for path in ("/", f"/cases/{episode.pk}/", f"/cases/{episode.pk}/review/"):
        open_as(page, clinician, path)
        small = page.evaluate(
            """least => [...document.querySelectorAll(
                 'button, .btn, select, input:not([type=hidden]):not([type=radio])')]
               .map(e => [e.outerHTML.slice(0, 80), e.getBoundingClientRect()])
               .filter(([, box]) => box.height > 0 && box.height < least)
               .map(([html]) => html)""",
            LEAST_TARGET,
        )
        assert small == [], path


def test_without_javascript_the_tables_stand_open(
    no_js_page: Page, open_as: Open, clinician: User, episode: Episode
) -> None:
    """The numbers are there where no chart is drawn."""
    open_as(no_js_page, clinician, f"/cases/{episode.pk}/")
    expect(no_js_page.get_by_role("cell", name="59").first).to_be_visible()


def test_a_phone_and_a_zoomed_screen_reflow(
    page: Page, open_as: Open, clinician: User, episode: Episode
) -> None:
    """At 320 pixels nothing needs sideways scrolling (WCAG 1.4.10)."""
    page.set_viewport_size({"width": 320, "height": 640})
    for path in ("/", f"/cases/{episode.pk}/", f"/cases/{episode.pk}/visits/new/"):
        open_as(page, clinician, path)
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), path


def rows_in_sight(page: Page) -> int:
    """Count the flagged cases that fit one screen, from the first one down."""
    return page.evaluate(
        """() => {
             const rows = [...document.querySelectorAll('tbody.is-flagged')];
             const top = rows[0].getBoundingClientRect().top;
             return rows.filter(row => row.getBoundingClientRect().bottom - top
               <= innerHeight).length;
           }"""
    )


@pytest.mark.parametrize(("width", "height", "least"), [(820, 1180, 5), (390, 844, 2)])
def test_several_flagged_cases_fit_a_screen(
    page: Page, open_as: Open, clinician: User, width: int, height: int, least: int
) -> None:
    """Five on a tablet, two on a phone, each with its reason."""
    for _ in range(6):
        stalled(clinician)
    page.set_viewport_size({"width": width, "height": height})
    open_as(page, clinician, "/")
    assert rows_in_sight(page) >= least


def test_a_case_prints_on_one_sheet(
    page: Page, open_as: Open, clinician: User, episode: Episode
) -> None:
    """Two findings, twelve visits, scores and pain: one page, with both charts."""
    for days in range(1, 10):
        on = episode.opened_on + timedelta(days=days * 7 + 1)
        make_visit(episode=episode, on=on, pain={"worst": 7, "usual": 4}, note="Ok")
    open_as(page, clinician, f"/cases/{episode.pk}/")
    expect(page.locator("[data-drawn]")).to_have_count(2)
    assert pages_of(page.pdf(prefer_css_page_size=True)) == 1
    page.emulate_media(media="print")
    expect(page.locator(".finding")).to_have_count(2)
    expect(page.locator("#chart-akps-title")).to_be_visible()
    expect(page.locator("#chart-pain-title")).to_be_visible()
    expect(page.get_by_text("more in the record")).to_be_visible()


def test_a_long_case_prints_on_one_sheet_too(
    page: Page, open_as: Open, clinician: User, episode: Episode
) -> None:
    """What does not fit stays in the record; whole entries are left out."""
    for days in range(1, 41):
        on = episode.opened_on + timedelta(days=days)
        make_visit(
            episode=episode, on=on, pain={"worst": 7, "usual": 4}, note="Long. " * 60
        )
    open_as(page, clinician, f"/cases/{episode.pk}/")
    expect(page.locator("[data-drawn]")).to_have_count(2)
    assert pages_of(page.pdf(prefer_css_page_size=True)) == 1


def pages_of(pdf: bytes) -> int:
    """Count the page objects of a PDF."""
    return len(re.findall(rb"/Type\s*/Page\b", pdf))


def test_a_rating_of_one_activity_is_drawn_when_asked_for(
    page: Page, open_as: Open, clinician: User, episode: Episode
) -> None:
    """The button says whether it is drawn; the legend never scrolls."""
    page.set_viewport_size({"width": 390, "height": 844})
    open_as(page, clinician, f"/cases/{episode.pk}/")
    expect(page.locator("[data-drawn]")).to_have_count(2)
    chart = page.locator("[data-chart=chart-pain]")
    expect(chart.locator(".legendtext")).to_have_text(["Worst", "Usual"])
    stairs = chart.get_by_role("button", name="Stairs")
    expect(stairs).to_have_attribute("aria-pressed", "false")
    stairs.tap()
    expect(stairs).to_have_attribute("aria-pressed", "true")
    expect(chart.locator(".legendtext")).to_have_text(["Worst", "Usual", "Stairs"])
    handles = page.locator(".legend .scrollbar")
    assert handles.evaluate_all(
        "all => all.every(e => !e.getAttribute('height')"
        " || e.getAttribute('height') === '0')"
    )
    assert violations(page) == []


def test_after_sign_out_back_shows_nothing(
    page: Page, open_as: Open, clinician: User, episode: Episode
) -> None:
    """The page is not kept by the browser."""
    open_as(page, clinician, f"/cases/{episode.pk}/")
    page.get_by_role("button", name="Sign out").tap()
    expect(page.get_by_text("Oudermeulen")).to_have_count(0)
    page.go_back()
    expect(page.get_by_label("Passphrase")).to_be_visible()
    expect(page.get_by_text("Oudermeulen")).to_have_count(0)


def test_a_lead_reads_two_hundred_cases(
    laptop_page: Page, open_as: Open, lead: User, clinician: User
) -> None:
    """Two hundred cases stand on one page."""
    today = timezone.localdate()
    for _ in range(200):
        make_episode(by=clinician, opened_on=today)
    open_as(laptop_page, lead, "/")
    expect(laptop_page.get_by_text("200 open cases")).to_be_visible()
    expect(laptop_page.locator("svg.strip")).to_have_count(200)
