"""The pages of letters: who writes, who reads, and what goes on paper."""

import html
import os
import re
import sys
import uuid
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from django.template.loader import render_to_string
from django.test import Client
from django.urls import reverse

from clinic.models import AuditEvent, Episode, Screen, Site, User
from clinic.screening import answer_screen
from outcomes import audit
from outcomes.letters import acts
from outcomes.letters.form import MOST_PARTS
from outcomes.letters.parts import Part, parts_of
from outcomes.letters.sheet import read_sheet
from outcomes.models import Letter
from outcomes.views.letter_paper import STYLE
from programs.handout_pdf import PdfUnavailable, pdf_of
from tests.factories import make_akps, make_episode, make_letter, make_patient

pytestmark = pytest.mark.usefixtures("clock")

HARMFUL = '<script>alert("x")</script>'
RIGHT_TO_LEFT = "مريم"


@pytest.fixture
def case(clinician: User) -> Episode:
    """A left knee in care."""
    patient = make_patient(by=clinician, given_name="Ada", family_name="Inventson")
    return make_episode(by=clinician, patient=patient)


@pytest.fixture
def letter(case: Episode, today: date) -> Letter:
    """A draft as it comes from the record."""
    return make_letter(episode=case, on=today)


@pytest.fixture
def signed(letter: Letter, clinician: User) -> Letter:
    """A short letter that is signed."""
    acts.change_letter(
        letter,
        by=clinician,
        version=letter.version,
        addressed_to="Dr Invented",
        written_on=letter.written_on,
        parts=[Part("Course", "Better.\n\nNo change of plan & none asked.")],
    )
    acts.sign_letter(letter, by=clinician, version=letter.version)
    return letter


@pytest.fixture
def client(clinician: User, signed_in: Callable[[User], Client]) -> Client:
    """The clinician's browser."""
    return signed_in(clinician)


def page(letter: Letter, name: str = "letter") -> str:
    """Return the address of a page of the letter."""
    return reverse(f"outcomes:{name}", args=[letter.pk])


def words(answer: Any) -> str:
    """Return the text of an answer."""
    return html.unescape(answer.content.decode())


def typed(letter: Letter, *parts: tuple[str, str], **changes: str) -> dict[str, str]:
    """Return a filled edit form with these parts in place of those of the draft."""
    sent = {
        "form_key": str(uuid.uuid4()),
        "version": str(letter.version),
        "addressed_to": "Dr Invented",
        "written_on": "2026-05-29",
        "parts-TOTAL_FORMS": str(len(parts) + 1),
        "parts-INITIAL_FORMS": str(len(parts)),
    }
    for at, (heading, text) in enumerate((*parts, ("", ""))):
        sent |= {f"parts-{at}-heading": heading, f"parts-{at}-text": text}
    return {**sent, **changes}


def signing(letter: Letter) -> dict[str, str]:
    """Return what the page of signing sends."""
    return {"form_key": str(uuid.uuid4()), "version": str(letter.version)}


# Writing


def test_a_letter_is_drafted_once_and_opened(client: Client, case: Episode) -> None:
    """A second tap of the same form drafts nothing more."""
    path = reverse("outcomes:letter_new", args=[case.pk])
    assert "Which letter" in words(client.get(path))
    sent = {
        "kind": "progress",
        "addressed_to": "Dr Invented",
        "form_key": str(uuid.uuid4()),
    }
    first, second = client.post(path, sent), client.post(path, sent)
    letter = Letter.objects.get()
    assert first.url == second.url == page(letter)
    shown = words(client.get(page(letter)))
    assert "Ada Inventson, born 6 May 1994" in shown
    assert "To write:" in shown and "The record holds no advice" in shown


def test_the_summary_has_no_address(client: Client, case: Episode) -> None:
    """Whatever stood in the field for another kind."""
    path = reverse("outcomes:letter_new", args=[case.pk])
    client.post(path, {"kind": "summary", "addressed_to": "Dr Invented"})
    assert Letter.objects.get().addressed_to == ""


def test_a_discharged_case_offers_the_discharge_letter_first(
    client: Client, case: Episode, clinician: User
) -> None:
    """The kind that is due is chosen; the others are there."""
    path = reverse("outcomes:letter_new", args=[case.pk])
    assert re.search(r'value="progress"[^>]*checked', words(client.get(path)))
    Episode.objects.update(discharged_on="2026-05-29", discharge_reason="goals met")
    assert re.search(r'value="discharge"[^>]*checked', words(client.get(path)))


def test_parts_are_changed_added_and_removed(client: Client, letter: Letter) -> None:
    """Without a script: an empty part is always there, a tick removes."""
    sent = typed(letter, ("Course", "Better."), ("Plan", "Gone."))
    sent |= {
        "parts-1-is_removed": "on",
        "parts-2-heading": "More",
        "parts-2-text": "Added.\r\nLine.",
    }
    answer = client.post(page(letter), sent)
    assert answer.url == page(letter)
    letter.refresh_from_db()
    assert parts_of(letter) == (
        Part("Course", "Better."),
        Part("More", "Added.\nLine."),
    )
    assert letter.written_on == date(2026, 5, 29) and letter.version == 2
    shown = words(client.get(page(letter)))
    assert "One more part" in shown and shown.count("Remove this part") == 2


def test_a_draft_saves_and_goes_on_to_the_preview(
    client: Client, letter: Letter
) -> None:
    """The other button of the form."""
    answer = client.post(page(letter), typed(letter, ("A", "b"), preview="1"))
    assert answer.url == page(letter, "letter_sign")
    assert "Draft, not signed." in words(client.get(answer.url))


@pytest.mark.parametrize("day", ["2026-06-02", "2026-01-04", "soon"])
def test_a_day_that_cannot_be_keeps_what_was_typed(
    client: Client, letter: Letter, day: str
) -> None:
    """Days to come, before the episode, or no day at all."""
    sent = typed(letter, ("Course", "My own words."), written_on=day)
    answer = client.post(page(letter), sent)
    assert answer.status_code == 422
    assert "My own words." in words(answer)
    letter.refresh_from_db()
    assert letter.version == 1


def test_a_change_by_somebody_else_is_shown_not_lost(
    client: Client, letter: Letter, lead: User, signed_in: Callable[[User], Client]
) -> None:
    """Both texts stand on the page; saving again replaces."""
    theirs = typed(letter, ("Course", "Words of the lead."))
    assert signed_in(lead).post(page(letter), theirs).status_code == 302
    mine = typed(letter, ("Course", "My own words."))
    answer = client.post(page(letter), mine)
    shown = words(answer)
    assert answer.status_code == 409
    assert "Words of the lead." in shown and "My own words." in shown
    assert 'name="version" value="2"' in shown
    mine |= {"version": "2", "form_key": str(uuid.uuid4())}
    assert client.post(page(letter), mine).status_code == 302
    letter.refresh_from_db()
    assert parts_of(letter) == (Part("Course", "My own words."),)


def test_a_form_without_its_parts_changes_nothing(
    client: Client, letter: Letter
) -> None:
    """A broken request does not empty a letter."""
    sent = {"version": "1", "written_on": "2026-06-01"}
    assert client.post(page(letter), sent).status_code == 422
    letter.refresh_from_db()
    assert len(parts_of(letter)) > 1


def test_a_letter_has_room_for_so_many_parts(client: Client, letter: Letter) -> None:
    """With all of them written no further one is offered."""
    many = [(f"Part {at}", "x") for at in range(MOST_PARTS)]
    sent = typed(letter, *many[:-1])
    sent |= {
        f"parts-{MOST_PARTS - 1}-heading": "Last",
        f"parts-{MOST_PARTS - 1}-text": "x",
    }
    assert client.post(page(letter), sent).status_code == 302
    assert "One more part" not in words(client.get(page(letter)))


# Signing


def test_what_stands_in_the_way_of_a_name_is_said_before(
    client: Client, letter: Letter, clinician: User, today: date
) -> None:
    """On the page, and again to whoever sends the form all the same."""
    answer_screen(
        episode=letter.episode,
        by=clinician,
        form=Screen.Form.SHORT,
        answers={"clot": True},
        on=today,
    )
    path = page(letter, "letter_sign")
    shown = words(client.get(path))
    assert "red-flag answer of the left knee" in shown
    assert "“Advice” is empty" in shown
    assert ">Sign<" not in shown
    answer = client.post(path, signing(letter))
    assert answer.status_code == 422
    assert "“Advice” is empty" in words(answer)
    letter.refresh_from_db()
    assert letter.signed_at is None


def test_a_letter_is_signed_once(client: Client, letter: Letter) -> None:
    """A second tap finds it signed; one line is on record."""
    client.post(page(letter), typed(letter, ("Course", "Better.")))
    letter.refresh_from_db()
    path, sent = page(letter, "letter_sign"), signing(letter)
    assert ">Sign<" in words(client.get(path))
    assert client.post(path, sent).url == client.post(path, sent).url == page(letter)
    lines = AuditEvent.objects.filter(action=audit.LETTER_SIGNED.code)
    assert lines.count() == 1
    shown = words(client.get(page(letter)))
    assert "Signed: " in shown and "textarea" not in shown
    assert client.get(path).url == page(letter)


def test_nobody_signs_what_they_have_not_seen(
    client: Client, letter: Letter, lead: User, signed_in: Callable[[User], Client]
) -> None:
    """A change after the preview was opened sends it back with the new words."""
    seen = signing(letter)
    theirs = typed(letter, ("Course", "Words of the lead."))
    signed_in(lead).post(page(letter), theirs)
    answer = client.post(page(letter, "letter_sign"), seen)
    assert answer.status_code == 409
    assert "Words of the lead." in words(answer)
    letter.refresh_from_db()
    assert letter.signed_at is None


def test_a_change_after_the_name_is_refused_and_kept_on_the_page(
    client: Client, signed: Letter
) -> None:
    """What was typed is not lost to whoever typed it."""
    before = signed.body
    sent = typed(signed, ("Course", "Too late."))
    answer = client.post(page(signed), sent)
    assert answer.status_code == 422
    assert "is signed and stays" in words(answer) and "Too late." in words(answer)
    signed.refresh_from_db()
    assert signed.body == before


def test_a_draft_says_when_the_record_moved_on(
    letter: Letter,
    clinician: User,
    signed_in: Callable[[User], Client],
    clock: Callable[[date], None],
) -> None:
    """A score of tomorrow is not in the draft of today; a letter changes nothing."""
    client = signed_in(clinician)
    client.post(page(letter), typed(letter, ("Course", "Better.")))
    moved = "The record changed since this was drafted"
    paths = (page(letter), page(letter, "letter_sign"))
    assert not any(moved in words(client.get(path)) for path in paths)
    clock(date(2026, 6, 2))
    make_akps(episode=letter.episode, on=date(2026, 6, 2), total=70)
    client = signed_in(clinician)
    for path in paths:
        shown = words(client.get(path))
        assert moved in shown and "recorded an assessment" in shown


# Reading


def test_colleagues_read_and_do_not_write(
    letter: Letter, colleague: User, signed_in: Callable[[User], Client]
) -> None:
    """The draft is shown as such; no post of theirs is taken."""
    client = signed_in(colleague)
    shown = words(client.get(page(letter)))
    assert "Draft, not signed." in shown and "textarea" not in shown
    for name in ("letter", "letter_sign", "letter_void"):
        assert client.post(page(letter, name), typed(letter)).status_code == 403


def test_the_case_page_lists_its_letters(
    client: Client,
    case: Episode,
    letter: Letter,
    colleague: User,
    signed_in: Callable[[User], Client],
) -> None:
    """With their state; who treats the case is offered to write one."""
    path = case.get_absolute_url()
    shown = words(client.get(path))
    assert page(letter) in shown and "Draft" in shown
    assert reverse("outcomes:letter_new", args=[case.pk]) in shown
    theirs = words(signed_in(colleague).get(path))
    assert page(letter) in theirs and "Write a letter" not in theirs


def test_more_letters_cost_no_more_queries(
    client: Client,
    case: Episode,
    letter: Letter,
    today: date,
    query_count: Callable[[Client, str], int],
) -> None:
    """One query for the list."""
    one = query_count(client, case.get_absolute_url())
    for _ in range(3):
        make_letter(episode=case, on=today)
    assert query_count(client, case.get_absolute_url()) == one


def test_typed_words_are_words(client: Client, letter: Letter, case: Episode) -> None:
    """Markup stays text on every page and on paper."""
    type(case.patient).objects.update(given_name=HARMFUL)
    sent = typed(letter, (HARMFUL, HARMFUL), addressed_to=HARMFUL)
    client.post(page(letter), sent)
    letter.refresh_from_db()
    for name in ("letter", "letter_sign", "letter_void"):
        assert HARMFUL not in client.get(page(letter, name)).content.decode()
    client.post(page(letter, "letter_sign"), signing(letter))
    assert HARMFUL not in client.get(page(letter)).content.decode()


# Voiding


def test_a_letter_is_voided_with_a_reason(client: Client, signed: Letter) -> None:
    """It says that a copy which was sent stays where it is."""
    path = page(signed, "letter_void")
    assert "A copy that was sent stays where it is" in words(client.get(path))
    assert client.post(path, signing(signed)).status_code == 422
    sent = signing(signed) | {"why": "Wrong knee."}
    assert client.post(path, sent).url == signed.episode.get_absolute_url()
    shown = words(client.get(page(signed)))
    assert "Wrong knee." in shown and "Voided, not for use." in shown
    assert page(signed) not in words(client.get(signed.episode.get_absolute_url()))
    assert client.get(path).url == page(signed)
    for name in ("letter_print", "letter_pdf"):
        assert client.post(page(signed, name)).url == page(signed)


def test_an_episode_with_a_letter_is_not_voided(
    client: Client, letter: Letter, case: Episode
) -> None:
    """The letter would lose what it is about."""
    shown = words(client.get(reverse("outcomes:void_case", args=[case.pk])))
    assert "holds visits, measures or letters" in shown


# Paper


def made() -> list[dict[str, Any]]:
    """Return what is on record of letters made for paper."""
    lines = AuditEvent.objects.filter(action=audit.LETTER_MADE.code).order_by("pk")
    return [line.detail for line in lines]


def test_a_look_leaves_no_line_and_a_print_does(
    signed: Letter, colleague: User, signed_in: Callable[[User], Client]
) -> None:
    """A colleague of the site prints as well."""
    client = signed_in(colleague)
    path = page(signed, "letter_print")
    assert "is-unmade" in words(client.get(path)) and made() == []
    shown = words(client.post(path))
    assert "is-unmade" not in shown and "it is on record that you made it" in shown
    assert made() == [{"letter": signed.pk, "kind": "page"}]


def test_a_draft_is_not_printed(client: Client, letter: Letter) -> None:
    """A sentence says why, and nothing goes on record."""
    for name in ("letter_print", "letter_pdf"):
        answer = client.post(page(letter, name), follow=True)
        assert "Only a signed letter that stands is printed." in words(answer)
    assert made() == []


def paper(page: str) -> str:
    """Return the words of the sheet alone, without its markup."""
    found = re.search(r'<article class="letter.*</article>', page, re.S)
    assert found
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", found[0])).split())


def test_the_pdf_is_set_from_the_words_of_the_page(
    client: Client, signed: Letter, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What goes to the library is what the page shows; the file names nobody."""
    given = []

    def keep(html: str, *, style: Path) -> bytes:
        given.append((html, style))
        return b"%PDF"

    monkeypatch.setattr("outcomes.views.letter_paper.pdf_of", keep)
    answer = client.post(page(signed, "letter_pdf"))
    ((sent, style),) = given
    assert paper(sent) == paper(client.get(page(signed)).content.decode())
    for part in ("Ada Inventson", "Better.", "No change of plan & none asked."):
        assert part in paper(sent)
    assert style == STYLE and style.exists()
    disposition = 'inline; filename="letter-2026-06-01.pdf"'
    assert answer["Content-Disposition"] == disposition
    assert "no-store" in answer["Cache-Control"]
    assert made() == [{"letter": signed.pk, "kind": "pdf"}]


def test_a_real_pdf_is_made_with_long_and_right_to_left_names(
    signed: Letter, site: Site
) -> None:
    """Where the library is there; the sheet holds the names whole."""
    signed.body["head"]["about"][0][1] = f"{RIGHT_TO_LEFT} {'Invented-' * 13}"
    sheet = read_sheet(signed)
    context = {"sheet": sheet, "letter": signed}
    sent = render_to_string("outcomes/letter_pdf.html", context)
    assert RIGHT_TO_LEFT in paper(sent) and "Invented-" * 13 in paper(sent)
    try:
        written = pdf_of(sent, style=STYLE)
    except PdfUnavailable:
        if os.environ.get("CI") == "true":
            pytest.fail("no Pango found, and CI is true", pytrace=False)
        pytest.skip("no Pango found")
    assert written.startswith(b"%PDF")


def test_without_the_library_the_browser_prints(
    client: Client, signed: Letter, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A page says so, and nothing goes on record."""

    class Missing:
        def find_spec(self, name: str, *_: Any) -> None:
            if name == "weasyprint":
                raise ImportError(name)

    for name in [name for name in sys.modules if name.startswith("weasyprint")]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setattr(sys, "meta_path", [Missing(), *sys.meta_path])
    answer = client.post(page(signed, "letter_pdf"))
    assert answer.status_code == 503
    assert "Print the letter from the browser instead" in words(answer)
    assert made() == []


def test_a_demonstration_says_so_on_paper(
    client: Client, letter: Letter, site: Site
) -> None:
    """Paper leaves the banner of the screen behind."""
    Site.objects.filter(pk=site.pk).update(is_demo=True)
    shown = words(client.get(page(letter, "letter_sign")))
    assert "Invented demonstration: no real person" in shown
