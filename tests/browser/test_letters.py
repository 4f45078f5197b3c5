"""Letters on a tablet: drafted, read, signed, printed; and without JavaScript."""

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from clinic.models import AuditEvent, Episode, User
from outcomes.audit import LETTER_MADE
from outcomes.models import Letter
from tests.factories import make_akps, make_episode, make_patient, make_visit

from .conftest import MARKS_PRINTING
from .test_pages import pages_of, violations

pytestmark = [pytest.mark.django_db(transaction=True)]
Open = Callable[[Page, User, str], Page]
FAMILY = "Inventson-Featherlingstone van der Quillenhaventer"


@pytest.fixture
def case(clinician: User) -> Episode:
    """A case of twelve weeks that got better, of a person with a long name."""
    on = timezone.localdate()
    patient = make_patient(by=clinician, given_name="Theodosia", family_name=FAMILY)
    made = make_episode(
        by=clinician, patient=patient, opened_on=on - timedelta(weeks=13)
    )
    for weeks, total, worst in ((13, 60, 7), (1, 85, 3)):
        day = on - timedelta(weeks=weeks)
        make_akps(episode=made, on=day, total=total)
        make_visit(episode=made, on=day + timedelta(days=1), pain={"worst": worst})
    return made


@pytest.fixture
def desk(page: Page, open_as: Open, clinician: User, case: Episode) -> Page:
    """The page on which a letter is chosen."""
    return open_as(page, clinician, reverse("outcomes:letter_new", args=[case.pk]))


def fill_what_is_asked(page: Page, words: str) -> None:
    """Write into every headed part that stands empty."""
    expect(page.locator(".letter-ask").first).to_be_visible()
    for part in page.locator("fieldset", has=page.locator(".letter-ask")).all():
        text = part.get_by_label("Text")
        if not text.input_value():
            text.fill(words)


def test_a_letter_is_drafted_signed_and_printed(
    desk: Page,
    case: Episode,
    clinician: User,
    screenshot: Callable[[Page, str], None],
) -> None:
    """Readable by everyone at each step; on paper every page says whose it is."""
    desk.add_init_script(MARKS_PRINTING)
    desk.get_by_label("To whom").fill("Dr Invented\n1 Invented Road")
    desk.get_by_role("button", name="Draft it").tap()
    expect(desk.get_by_role("heading", name="Progress letter")).to_be_visible()
    assert violations(desk) == []
    fill_what_is_asked(desk, "Goes on with two exercises.\n" * 20)
    desk.get_by_role("button", name="Save and look at it").tap()
    expect(desk.get_by_text("Draft, not signed.")).to_be_visible()
    assert violations(desk) == []
    assert desk.evaluate("document.documentElement.scrollWidth <= innerWidth")
    desk.get_by_role("button", name="Sign", exact=True).tap()
    sheet = desk.locator("#letter-sheet")
    expect(sheet.get_by_text("Signed:")).to_be_visible()
    expect(sheet.get_by_text("Up 25 points")).to_be_visible()
    assert violations(desk) == []
    desk.get_by_role("button", name="Print").tap()
    expect(desk.locator("html[data-printed]")).to_be_attached()
    event = AuditEvent.objects.get(action=LETTER_MADE.code)
    assert (event.by, event.detail["kind"]) == (clinician, "page")
    screenshot(desk, "letter_made")
    desk.emulate_media(media="print")
    for chrome in (".bar", ".foot", ".letter-desk"):
        expect(desk.locator(chrome)).to_be_hidden()
    expect(desk.locator(".letter-every-page")).to_contain_text(FAMILY)
    assert pages_of(desk.pdf(prefer_css_page_size=True)) == 2


def test_a_letter_that_nobody_made_prints_a_sentence(
    desk: Page, clinician: User
) -> None:
    """A draft does not leave, whatever the browser's menu is asked."""
    desk.get_by_label("Summary for the patient").check()
    desk.get_by_role("button", name="Draft it").tap()
    fill_what_is_asked(desk, "Go on as you do.")
    desk.get_by_role("button", name="Save and look at it").tap()
    desk.emulate_media(media="print")
    expect(desk.locator("#letter-sheet")).to_be_hidden()
    expect(desk.get_by_text("A draft is not printed")).to_be_visible()


def test_a_summary_is_written_and_voided_without_scripts(
    no_js_page: Page, open_as: Open, clinician: User, case: Episode
) -> None:
    """Chosen, refused while a part is empty, written, signed, voided with a reason."""
    path = reverse("outcomes:letter_new", args=[case.pk])
    page = open_as(no_js_page, clinician, path)
    page.get_by_label("Summary for the patient").check()
    page.get_by_role("button", name="Draft it").tap()
    page.get_by_role("button", name="Save and look at it").tap()
    expect(page.get_by_text("“What to do now” is empty")).to_be_visible()
    expect(page.get_by_role("button", name="Sign", exact=True)).to_have_count(0)
    page.locator("main").get_by_role("link", name="Back to the draft").tap()
    fill_what_is_asked(page, "Go on as you do.")
    page.get_by_role("button", name="Save and look at it").tap()
    page.get_by_role("button", name="Sign", exact=True).tap()
    sheet = page.locator("#letter-sheet")
    expect(sheet).to_contain_text("A higher number is better.")
    expect(sheet).not_to_contain_text(re.compile("Crossley|MCID|error|project"))
    page.get_by_role("link", name="Void").tap()
    page.get_by_label("Why").fill("An invented mistake")
    page.get_by_role("button", name="Void the letter").tap()
    expect(page.get_by_text("The letter is voided")).to_be_visible()
    assert not Letter.objects.standing().exists()
