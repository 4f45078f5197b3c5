"""The lead's export for audit on a laptop: from the form to a zip that opens."""

import io
import json
import re
import zipfile
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pandas as pd
import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import BrowserContext, Page, expect

from clinic.models import User
from outcomes.exporting.columns import tables
from outcomes.models import AuditExport
from tests.factories import PASSPHRASE
from tests.outcomes.exporting.exported import make_cases

from .conftest import LAPTOP
from .test_pages import violations

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.expected_console("status of 422"),
]
Open = Callable[[Page, User, str], Page]


@pytest.fixture
def lead_with_cases(lead: User, clinician: User) -> User:
    """The lead of a clinic with a dozen people who are alike for a stranger."""
    on = timezone.localdate() - timedelta(weeks=20)
    make_cases(by=clinician, count=12, opened_on=on)
    return lead


def ask_for_export(page: Page) -> None:
    """Go from the list to the preview: first a wrong passphrase, then the right."""
    page.get_by_role("link", name="New export").click()
    page.get_by_role("textbox", name="Your passphrase").fill("not this one")
    page.get_by_role("button", name="Confirm").click()
    expect(page.get_by_text("This is not your passphrase.")).to_be_visible()
    page.get_by_role("textbox", name="Your passphrase").fill(PASSPHRASE)
    page.get_by_role("button", name="Confirm").click()
    page.get_by_label("Recipient").fill("Invented audit office")
    page.get_by_label("Purpose").fill("An invented question")
    page.get_by_label("Legal basis").fill("An invented rule")
    today = timezone.localdate()
    page.get_by_label("They destroy it by").fill(str(today))
    page.get_by_label("Episodes opened from").fill(str(today - timedelta(weeks=30)))
    page.get_by_label("Episodes opened until").fill(str(today))
    page.get_by_role("button", name="Show what would leave").click()
    expect(page.get_by_text("This day has to lie in the future.").first).to_be_visible()
    later = today + timedelta(days=90)
    page.get_by_label("They destroy it by").fill(str(later))
    page.get_by_role("button", name="Show what would leave").click()
    expect(page.get_by_text("12 episodes of 12 people.")).to_be_visible()


def downloaded(page: Page, folder: Path) -> zipfile.ZipFile:
    """Press the button and return the zip that comes."""
    with page.expect_download() as coming:
        page.get_by_role("button", name="Export 12 episodes").click()
    name = coming.value.suggested_filename
    assert re.fullmatch(r"export-for-audit-\d{8}-\d{6}\.zip", name)
    path = folder / name
    coming.value.save_as(path)
    return zipfile.ZipFile(path)


def check(found: zipfile.ZipFile) -> None:
    """Open every table as an auditor would, by what the zip says of itself."""
    assert found.testzip() is None
    told = json.loads(found.read("dictionary.json"))
    manifest = json.loads(found.read("manifest.json"))
    rows = {file["name"]: file["rows"] for file in manifest["files"]}
    for resource in told["resources"]:
        frame = pd.read_csv(io.BytesIO(found.read(resource["path"])))
        fields = [field["name"] for field in resource["schema"]["fields"]]
        assert list(frame.columns) == fields
        assert len(frame) == resource["rows"] == rows[resource["path"]]
    assert len(told["resources"]) == len(tables())
    assert rows["episodes.csv"] == 12


def test_the_lead_exports_from_the_form_to_a_file_that_opens(
    laptop_page: Page,
    open_as: Open,
    lead_with_cases: User,
    tmp_path: Path,
    screenshot: Callable[[Page, str], None],
) -> None:
    """Each step readable by everyone; the file whole; the list says so."""
    page = open_as(laptop_page, lead_with_cases, reverse("outcomes:exports"))
    assert violations(page) == []
    ask_for_export(page)
    assert violations(page) == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    screenshot(page, "export_preview")
    found = downloaded(page, tmp_path)
    check(found)
    page.goto(page.url.replace("preview/", ""))
    row = page.get_by_role("row", name=re.compile("Invented audit office"))
    expect(row).to_contain_text("Complete")
    row.get_by_role("link").click()
    expect(page.get_by_text("The random keys of its rows were wiped")).to_be_visible()
    assert violations(page) == []
    (folder := tmp_path / "unpacked").mkdir()
    found.extractall(folder)
    page.goto((folder / "dictionary.html").as_uri())
    expect(page.get_by_role("heading", name="assessments.csv")).to_be_visible()
    assert violations(page) == []


def test_the_lead_exports_without_javascript(
    new_context: Callable[..., BrowserContext],
    open_as: Open,
    lead_with_cases: User,
    tmp_path: Path,
) -> None:
    """The same pages, the same file, nothing that needs a script."""
    page = new_context(**LAPTOP, java_script_enabled=False).new_page()
    open_as(page, lead_with_cases, reverse("outcomes:exports"))
    ask_for_export(page)
    check(downloaded(page, tmp_path))
    assert AuditExport.objects.get().state == AuditExport.State.COMPLETE
