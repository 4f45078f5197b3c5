"""The lead's review in a real browser: every question, a filter, the cases, paper."""

import re
from collections.abc import Callable

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from clinic.models import Patient, Site, User
from outcomes.demo.history import bring_in_history
from outcomes.demo.names import CLINICIANS, LEAD
from outcomes.trends_titles import TITLES
from tests.factories import make_user

from .test_pages import pages_of, violations

pytestmark = [pytest.mark.django_db(transaction=True)]
Open = Callable[[Page, User, str], Page]
DRAWS = {"flow", "response", "time", "clinicians", "months"}


@pytest.fixture
def history_lead(site: Site) -> User:
    """The lead of a clinic with three invented years to look back on."""
    for one in CLINICIANS:
        make_user(site=site, username=one.username, first_name=one.given_name)
    lead = make_user(site=site, username=LEAD.username, role=LEAD.role)
    bring_in_history(by=lead, on=timezone.localdate())
    return lead


def test_the_lead_goes_through_the_whole_review(
    laptop_page: Page,
    open_as: Open,
    history_lead: User,
    screenshot: Callable[[Page, str], None],
) -> None:
    """Each question opens by a click, draws, and is readable by everyone."""
    open_as(laptop_page, history_lead, reverse("outcomes:trends"))
    for key, title in TITLES.items():
        laptop_page.get_by_role("link", name=title, exact=True).click()
        expect(laptop_page.get_by_role("heading", name=title)).to_be_visible()
        if key in DRAWS:
            expect(laptop_page.locator("[data-drawn]").first).to_be_visible()
        assert violations(laptop_page) == [], key
        width = laptop_page.evaluate("document.documentElement.scrollWidth")
        assert width <= 1440, key
        screenshot(laptop_page, f"trends-{key}")


def test_a_filter_narrows_and_a_number_leads_to_its_cases(
    laptop_page: Page, open_as: Open, history_lead: User
) -> None:
    """The cases behind a number are as many as it says, and nobody is named there."""
    page = open_as(laptop_page, history_lead, reverse("outcomes:trends"))
    page.get_by_label("Knee").select_option("left")
    page.get_by_role("button", name="Show these cases").click()
    page.wait_for_url(re.compile("side=left"))
    page.get_by_text("The same numbers in a table").first.click()
    row = page.get_by_role("row", name=re.compile("^Lost"))
    number = row.get_by_role("link").first
    count = number.inner_text()
    number.click()
    heading = f"{count} case" if count == "1" else f"{count} cases"
    expect(page.get_by_role("heading", name=heading, exact=True)).to_be_visible()
    expect(page.locator("tbody tr")).to_have_count(int(count))
    expect(page.get_by_role("cell", name="Right knee")).to_have_count(0)
    for family in Patient.objects.values_list("family_name", flat=True)[:20]:
        assert family not in page.url


def test_the_report_prints_with_its_figures_and_tables(
    laptop_page: Page, open_as: Open, history_lead: User
) -> None:
    """On paper every question has its figure drawn and its table below it."""
    page = open_as(laptop_page, history_lead, reverse("outcomes:trends_report"))
    plots = page.locator("[data-chart-plot]").count()
    assert plots >= len(DRAWS)
    expect(page.locator("[data-drawn]")).to_have_count(plots)
    page.emulate_media(media="print")
    for title in TITLES.values():
        expect(page.get_by_role("heading", name=title)).to_be_visible()
    tables = page.locator(".trend table")
    assert tables.count() >= plots
    for place in range(tables.count()):
        expect(tables.nth(place)).to_be_visible()
    expect(page.get_by_role("button", name="Print")).to_be_hidden()
    assert pages_of(page.pdf(prefer_css_page_size=True)) >= len(TITLES)


def test_without_javascript_the_review_has_its_tables(
    no_js_page: Page, open_as: Open, history_lead: User
) -> None:
    """The choice of cases has its button, and every table stands open."""
    page = open_as(no_js_page, history_lead, reverse("outcomes:trends"))
    expect(page.get_by_role("row", name=re.compile("^Lost"))).to_be_visible()
    page.get_by_label("Knee").select_option("right")
    page.get_by_role("button", name="Show these cases").click()
    expect(page.get_by_label("Knee")).to_have_value("right")


def test_a_clinician_sees_their_own_results_on_the_tablet(
    page: Page, open_as: Open, history_lead: User
) -> None:
    """No colleague has a name there."""
    own = User.objects.get(username=CLINICIANS[0].username)
    open_as(page, own, reverse("outcomes:my_results"))
    expect(page.get_by_role("heading", name="My results")).to_be_visible()
    for colleague in CLINICIANS[1:]:
        expect(page.locator("main")).not_to_contain_text(colleague.given_name)
    assert violations(page) == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
